package climate

// The chain's coefficients, for the check of what they imply.
var (
	ChainA = chainA
	ChainB = chainB
)
