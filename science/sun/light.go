package sun

import (
	"fmt"

	"tidebed/quantity"
)

// MolPerMJ is the photons plants use in a megajoule of global radiation:
// 0.45 of it, 4.57 mol/MJ ([thimijan-heins-1983]).
const MolPerMJ = 2.06

// MaxEfficacyUmolJ is the highest lamp efficacy taken; what can be built ends
// at about 4.1 ([kusuma-2020]).
const MaxEfficacyUmolJ = 4.2

// InsideMolM2 is the photons of a day below a cover, mol/m², from the global
// radiation above it (0 to 60 MJ/m²) and the share the cover passes (0 to 1).
func InsideMolM2(radiationMJm2, transmissionShare float64) (float64, error) {
	err := quantity.InRange("radiation of the day", radiationMJm2, 0, 60, "MJ/m2")
	if err == nil {
		err = quantity.InRange("transmission", transmissionShare, 0, 1, "")
	}
	if err != nil {
		return 0, fmt.Errorf("light inside: %w", err)
	}
	return MolPerMJ * radiationMJm2 * transmissionShare, nil
}

// LampMolM2 is the photons in mol/m² that lamps of a photon flux (0 to 5000
// µmol/m²/s) give in 0 to 24 hours.
func LampMolM2(fluxUmolM2S, hours float64) (float64, error) {
	err := quantity.InRange("photon flux", fluxUmolM2S, 0, 5000, "umol/m2/s")
	if err == nil {
		err = quantity.InRange("hours of light", hours, 0, 24, "h")
	}
	if err != nil {
		return 0, fmt.Errorf("lamp light: %w", err)
	}
	return fluxUmolM2S * hours * 3600 / 1e6, nil
}

// LampFlux is the photon flux in µmol/m²/s that makes up what the sun leaves
// short of a target of light (both mol/m² a day, 0 to 100) in more than 0 to 24 h.
//
// Check: from 6 to 14 mol/m² in 12 h: 185.2.
func LampFlux(targetMolM2, sunMolM2, hours float64) (float64, error) {
	err := quantity.InRange("light wanted", targetMolM2, 0, 100, "mol/m2")
	if err == nil {
		err = quantity.InRange("light of the sun", sunMolM2, 0, 150, "mol/m2")
	}
	if err == nil {
		err = quantity.InRange("hours of light", hours, 0.01, 24, "h")
	}
	if err != nil {
		return 0, fmt.Errorf("lamp light: %w", err)
	}
	return max(0, targetMolM2-sunMolM2) * 1e6 / (3600 * hours), nil
}

// LampKWh is the electric energy of a day, in kWh, for lamps that add lightMolM2
// (0 to 100 mol/m²) on an area (0 to 1e5 m²).
//
//	efficacyUmolJ  photons out per joule of electricity, 0.1 to MaxEfficacyUmolJ
//	useShare       of the photons that land on the crop, 0.05 to 1; 0.75 to 0.95 is usual
//
// All of it ends as heat in the house.
// Check: 8 mol/m², 2.7 µmol/J, 0.85: 0.968 kWh/m².
func LampKWh(lightMolM2, efficacyUmolJ, areaM2, useShare float64) (float64, error) {
	err := quantity.InRange("lamp light", lightMolM2, 0, 100, "mol/m2")
	if err == nil {
		err = quantity.InRange("lamp efficacy", efficacyUmolJ, 0.1, MaxEfficacyUmolJ, "umol/J")
	}
	if err == nil {
		err = quantity.InRange("area", areaM2, 0, 1e5, "m2")
	}
	if err == nil {
		err = quantity.InRange("share of the lamp light used", useShare, 0.05, 1, "")
	}
	if err != nil {
		return 0, fmt.Errorf("lamp energy: %w", err)
	}
	return lightMolM2 * areaM2 / (efficacyUmolJ * useShare) / 3.6, nil
}
