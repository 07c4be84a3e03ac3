"""Bad contacts: heat from the voltage drop, and grades of the temperature rise."""

from dataclasses import dataclass

from service.domain.physics.ranges import Range, above, below

CONTACT_DROP = Range("voltage drop over a contact", 0.0, 50.0, "V")
CONTACT_CURRENT = Range("current through the contact", 0.0, 1000.0, "A")
DIFFERENCE = Range("temperature difference", -100.0, 400.0, "K", "temperature_difference")
BAD_DROP = 0.1  # [V] hundredths good, tenths bad


@dataclass(frozen=True, slots=True)
class HeatGrade:
    """One grade: its code, and the difference [K] up to which it applies."""

    code: str
    up_to: float


# NETA Table 100.18 gives whole kelvins; values between two steps get the hotter one. Below 1 K: none.
BESIDE_SIMILAR = (HeatGrade("none", 1.0), HeatGrade("possible", 3.0), HeatGrade("probable", 15.0))
OVER_AMBIENT = (
    HeatGrade("none", 1.0),
    HeatGrade("possible", 10.0),
    HeatGrade("probable", 20.0),
    HeatGrade("monitor", 40.0),
)
MAJOR = HeatGrade("major", DIFFERENCE.high)


def contact_heat(*, current: float, drop: float) -> float:
    """Return the heat dissipated in a contact or joint.

    P = I V, the drop measured over the closed contact under load. Valid for drops of 0 to 50 V.

    Parameters
    ----------
    current : float
        Current through it [A].
    drop : float
        Voltage over it [V].

    Returns
    -------
    float
        Heat [W].

    Raises
    ------
    OutOfRange
        If an argument lies outside its range.

    Notes
    -----
    Measuring the drop is live work, for qualified people only. A resolution of 1 mV is enough.

    References
    ----------
    Joule's law, P = I^2 R with V = I R; 16 A and 0.5 V give 8 W in one joint.

    Examples
    --------
    >>> contact_heat(current=16.0, drop=0.5)
    8.0
    """
    return CONTACT_CURRENT.check(current) * CONTACT_DROP.check(drop)


def contact_bad(drop: float) -> bool:
    """Return whether the voltage drop over a closed contact is a bad one.

    bad = drop >= 0.1 V: hundredths of a volt are good, tenths are bad. Valid for drops of 0 to 50 V.

    Parameters
    ----------
    drop : float
        Voltage over the closed contact under load [V].

    Returns
    -------
    bool
        Whether it is bad [-].

    Raises
    ------
    OutOfRange
        If the drop lies outside the range.

    Notes
    -----
    The drop grows with the current: at a tenth of the rated current a bad contact looks good.

    References
    ----------
    Training article on loaded voltage drop: hundredths of a volt good, tenths to volts bad.

    Examples
    --------
    >>> contact_bad(0.03), contact_bad(0.5)
    (False, True)
    """
    return CONTACT_DROP.check(drop) >= BAD_DROP


def _grade(difference: float, ladder: tuple[HeatGrade, ...]) -> HeatGrade:
    DIFFERENCE.check(difference)
    if below(difference, ladder[0].up_to):
        return ladder[0]
    return next((step for step in ladder[1:] if not above(difference, step.up_to)), MAJOR)


def rise_beside_similar(*, hot: float, similar: float) -> HeatGrade:
    """Return the grade of a terminal's temperature beside a similar terminal under similar load.

    1 to 3 K possible, 4 to 15 K probable, more than 15 K major. Valid for differences of -100 to 400 K.

    Parameters
    ----------
    hot : float
        Temperature of the terminal [K].
    similar : float
        Temperature of the similar one [K].

    Returns
    -------
    HeatGrade
        Code and upper limit [K].

    Raises
    ------
    OutOfRange
        If the difference lies outside the range.

    Notes
    -----
    Shiny metal reads cold on an infrared thermometer: compare surfaces alike, at 40 % load or more (from memory).

    References
    ----------
    ANSI/NETA MTS and ATS, Table 100.18.

    Examples
    --------
    >>> rise_beside_similar(hot=335.0, similar=310.0).code, rise_beside_similar(hot=315.0, similar=310.0).code
    ('major', 'probable')
    """
    return _grade(hot - similar, BESIDE_SIMILAR)


def rise_over_ambient(*, hot: float, ambient: float) -> HeatGrade:
    """Return the grade of a terminal's temperature above the ambient air, where there is no similar part to measure.

    1 to 10 K possible, 11 to 20 K probable, 21 to 40 K monitor, more than 40 K major. Valid for -100 to 400 K.

    Parameters
    ----------
    hot : float
        Temperature of the terminal [K].
    ambient : float
        Temperature of the air around it [K].

    Returns
    -------
    HeatGrade
        Code and upper limit [K].

    Raises
    ------
    OutOfRange
        If the difference lies outside the range.

    Notes
    -----
    Take the air inside the box, not the room's: a hot box warms every terminal.

    References
    ----------
    ANSI/NETA MTS and ATS, Table 100.18.

    Examples
    --------
    >>> rise_over_ambient(hot=345.0, ambient=300.0).code
    'major'
    """
    return _grade(hot - ambient, OVER_AMBIENT)
