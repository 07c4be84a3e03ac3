"""Why a part fails again and again: luck against each listed cause against an excess nobody can explain."""
