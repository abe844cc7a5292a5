"""Numbers that several parts share; exact by definition or of the US Standard Atmosphere 1976, where none says otherwise."""

GRAVITY = 9.80665  # m/s2, standard gravity (exact by convention, 3rd CGPM)
STANDARD_PRESSURE = 101325.0  # Pa, at sea level
STANDARD_TEMPERATURE = 288.15  # K, 15 degC, at sea level; also where fuel densities are quoted
DRY_AIR_GAS_CONSTANT = 287.05287  # J/(kg K)
GAUGE_READS = 3447.3786  # Pa, half a psi: what a fuel gauge is read to (common practice, no source)
FREEZING = 273.15  # K, 0 degC
