package rf

// speedOfLightMPerS is exact by the definition of the metre.
const speedOfLightMPerS = 299792458

// electronRestEV is the rest energy of the electron, 510 998.950 69(16) eV.
//
// Source: CODATA 2022.
const electronRestEV = 510998.95069
