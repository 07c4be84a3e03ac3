"""The temperatures at which beer and its cooling are wanted, in K."""


def fahrenheit(degrees: float) -> float:
    """A temperature in °F, converted to K.

    >>> fahrenheit(32.0)
    273.15
    """
    return (degrees + 459.67) / 1.8


BATH_BAND = (fahrenheit(28.0), fahrenheit(33.0))
"""A regional beer-system guide 28 to 31 °F, a beer wholesaler 30 to 33 °F, *Foodservice Equipment & Supplies* about
30 °F, a beer-system technician manual below 30 °F: what all of them span."""

BEER_WANTED = fahrenheit(38.0)
"""At the faucet: Brewers Association, *Draught Beer Quality for Retailers*; a beer-system technician manual, p. 17."""

BEER_UNDER = fahrenheit(40.0)
"""Above this it is plainly warm: common practice, no source."""

COOLER_WANTED = fahrenheit(38.0)
"""36 to 38 °F, air and liquid: a line-service page quoting the Brewers Association's retailer guide."""

FOOD_LIMIT = fahrenheit(41.0)
"""FDA Food Code 3-501.16: other food in the same walk-in."""

BEER_FREEZES = fahrenheit(28.0)
"""Beer of 5 % alcohol by volume freezes at about 28 °F: from memory, no source read."""

COOLER_LEAST = fahrenheit(31.0)
"""Colder than that, kegs and lines in the cooler may freeze: common practice, no source."""
