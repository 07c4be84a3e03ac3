"""The condition of a unit: latest readings, trends and derived figures."""
