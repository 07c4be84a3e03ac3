"""Thermal properties of beer, close to those of water."""

BEER_DENSITY = 1010.0
"""[kg/m3]: specific gravity 1.010, a finished lager; 8.43 lb/gal (common practice)."""

BEER_SPECIFIC_HEAT = 3850.0
"""[J/(kg K)]: 0.92 Btu/(lb degF), as implied by the half keg's 120 Btu/degF in *Engineering Manual, Commercial
Refrigeration Load Calculations*, H-ENGM0408, 2008, Table 9, p. 18."""

BEER_CONDUCTIVITY = 0.56
"""[W/(m K)]: water at 2 degC (from memory)."""
