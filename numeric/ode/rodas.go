package ode

// The coefficients of RODAS in the transformed variables u, as its authors print
// them: Hairer and Wanner 1996, Solving Ordinary Differential Equations II,
// section VI.4. Stage i solves
//
//	(1/(hγ) I - J) u_i = F(t + α_i h, y + Σ a_ij u_j) + Σ c_ij/h u_j + h d_i ∂F/∂t
//
// and the step ends at y + Σ m_j u_j. The last row of rodasA with u_5 added is the
// embedded solution of order 3, that with u_6 added the result, so that the
// error estimate is u_6. A test works the order conditions out from these numbers.
const (
	stages = 6
	gamma  = 0.25
)

var (
	rodasA = [stages][stages]float64{
		{},
		{0.1544000000000000e+01},
		{0.9466785280815826e+00, 0.2557011698983284e+00},
		{0.3314825187068521e+01, 0.2896124015972201e+01, 0.9986419139977817e+00},
		{0.1221224509226641e+01, 0.6019134481288629e+01, 0.1253708332932087e+02, -0.6878860361058950e+00},
		{0.1221224509226641e+01, 0.6019134481288629e+01, 0.1253708332932087e+02, -0.6878860361058950e+00, 1},
	}
	rodasC = [stages][stages]float64{
		{},
		{-0.5668800000000000e+01},
		{-0.2430093356833875e+01, -0.2063599157091915e+00},
		{-0.1073529058151375e+00, -0.9594562251023355e+01, -0.2047028614809616e+02},
		{0.7496443313967647e+01, -0.1024680431464352e+02, -0.3399990352819905e+02, 0.1170890893206160e+02},
		{0.8083246795921522e+01, -0.7981132988064893e+01, -0.3152159432874371e+02, 0.1631930543123136e+02, -0.6058818238834054e+01},
	}
	rodasAlpha = [stages]float64{0, 0.386, 0.21, 0.63, 1, 1}
	rodasD     = [stages]float64{0.2500000000000000e+00, -0.1043000000000000e+00, 0.1035000000000000e+00, -0.3620000000000023e-01, 0, 0}

	// Dense output of order 3: y(s) = y0 (1-s) + s (y1 + (1-s) (Σ e_j u_j + s Σ f_j u_j)).
	rodasE = [stages - 1]float64{0.1012623508344586e+02, -0.7487995877610167e+01, -0.3480091861555747e+02, -0.7992771707568823e+01, 0.1025137723295662e+01}
	rodasF = [stages - 1]float64{-0.6762803392801253e+00, 0.6087714651680015e+01, 0.1643084320892478e+02, 0.2476722511418386e+02, -0.6594389125716872e+01}
)
