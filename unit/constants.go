package unit

// Exact definitions (NIST SP 811, appendix B; UCUM table of units).
const (
	// Inch is the international inch [m].
	Inch = 0.0254
	// Foot is the international foot [m].
	Foot = 0.3048
	// Pound is the avoirdupois pound [kg].
	Pound = 0.45359237
	// Grain is 1/7000 pound [kg].
	Grain = Pound / 7000
	// CubicFoot is the international cubic foot [m3].
	CubicFoot = Foot * Foot * Foot
	// StandardGravity is the conventional acceleration of free fall [m/s2].
	StandardGravity = 9.80665
	// Psi is one pound-force per square inch [Pa].
	Psi = Pound * StandardGravity / (Inch * Inch)
	// Horsepower is the mechanical horsepower, 550 ft lbf/s [W].
	Horsepower = 550 * Foot * Pound * StandardGravity
	// Atmosphere is the standard atmosphere [Pa].
	Atmosphere = 101325.0
	// ZeroCelsius is 0 degC [K].
	ZeroCelsius = 273.15
)

// InchWater is the conventional inch of water, 1000 kg/m3 at standard gravity [Pa] (UCUM [in_i'H2O]:
// 9.80665 kPa per metre of water). The trade's round numbers 4005, 1096.7 and 6356 imply 248.6 Pa (water at room
// temperature): a check value worked with them differs by 0.2 % in pressure and 0.1 % in velocity, and
// tests against such values take that as their tolerance.
const InchWater = 9806.65 * Inch

// InchMercury is the conventional inch of mercury [Pa] (UCUM [in_i'Hg]: 133.322 kPa per metre).
const InchMercury = 133322.0 * Inch

// StdAirDensity is the fan trade's standard air, 0.075 lb/ft3 [kg/m3]. Dry air at exactly 70 degF and
// 101325 Pa is 0.15 % lighter, which is the tolerance of check values that mix the two.
const StdAirDensity = 0.075 * Pound / CubicFoot

// ScfDensity is the density behind the compressed-air trade's standard cubic foot: 14.5 psia, 68 degF, dry
// [kg/m3]. Older definitions (60 degF; 14.7 psia) differ by up to 3 %.
const ScfDensity = 1.18806

// AnrDensity is the density of the reference atmosphere ANR of ISO 8778: 100 kPa, 20 degC, 65 % RH
// [kg/m3] (from memory of the standard).
const AnrDensity = 1.185

// NormalDensity is dry air at 0 degC and 101325 Pa, the German normal cubic metre [kg/m3].
const NormalDensity = 1.29228

// GasConstantDryAir is the gas constant of dry air [J/(kg K)] (ASHRAE Fundamentals 2017, chapter 1). Some of the
// published check values use 287.05, 0.003 % more.
const GasConstantDryAir = 287.042

// ConductanceOfKv is the sonic conductance that one Kv (m3/h of water at 1 bar) stands for [m3/(s Pa)]: choked
// flow after IEC 60534-2-1 with xT = 0.70, so C = 4.504 dm3/(s bar). One Cv is KvOfCv times that.
// xT and the critical ratio b are not in a flow coefficient: the true conductance lies within
// about CoefficientWidth of it.
const ConductanceOfKv = 4.50402e-8

// KvOfCv is the metric flow coefficient that equals one Cv (US gal/min of water at 1 psi) [m3/h at 1 bar].
const KvOfCv = 0.8649777

// CoefficientWidth is the relative width (standard deviation taken as half of it) of a conductance that was
// worked out from Cv or Kv.
const CoefficientWidth = 0.10
