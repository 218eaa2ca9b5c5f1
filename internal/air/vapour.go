package air

import "math"

const (
	// StandardPressure is one atmosphere, Pa.
	StandardPressure = 101325.0

	gasConstant = 8.314462618  // J/(mol K), exact by definition of the SI to these digits
	waterMass   = 18.01528e-3  // kg/mol
	zeroCelsius = 273.15       // K
	waterPerML  = 1.0 / 1000.0 // kg/mL, near enough from 4 to 30 °C
)

// SaturationPressure is the pressure of saturated water vapour over water, Pa,
// for -20 to 60 °C: FAO-56 equation 11. It agrees with the industrial standard
// IAPWS-IF97 within 0.15 % over 5-35 °C.
func SaturationPressure(celsius float64) float64 {
	return 610.8 * math.Exp(17.27*celsius/(celsius+237.3))
}

// SaturationDensity is the water in a cubic metre of saturated air, kg/m3.
func SaturationDensity(celsius float64) float64 {
	return SaturationPressure(celsius) * waterMass / (gasConstant * (celsius + zeroCelsius))
}

// AbsoluteHumidity is the water in a cubic metre of air of the given relative
// humidity (0-100 %), kg/m3.
func AbsoluteHumidity(celsius, humidityPct float64) float64 {
	return humidityPct / 100 * SaturationDensity(celsius)
}

// Deficit is the water that a cubic metre of air could still take up, kg/m3.
func Deficit(celsius, humidityPct float64) float64 {
	return (1 - humidityPct/100) * SaturationDensity(celsius)
}

// Diffusivity is the diffusion coefficient of water vapour in air, m2/s, at a
// pressure in Pa: Massman 1998. Schirmer's formula, which the building trade
// uses, lies 6 % higher; measured values scatter by about as much.
func Diffusivity(celsius, pressure float64) float64 {
	return 0.2178e-4 * math.Pow((celsius+zeroCelsius)/zeroCelsius, 1.81) * StandardPressure / pressure
}

// StefanFlux is the flow of vapour through a layer of stagnant air, mol/(m2 s):
// diffusion with the bulk flow that it drags along. The layer is length metres
// thick, the pressures in Pa: total, and of vapour at its wet and its dry face
// (total > wet).
func StefanFlux(diffusivity, celsius, length, total, wet, dry float64) float64 {
	return diffusivity * total / (gasConstant * (celsius + zeroCelsius) * length) *
		math.Log((total-dry)/(total-wet))
}
