"""What a diagnosis says. Layer: engine.diagnosis."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Alternative:
    """Another class, and its likelihood (penalised) over that of the first."""

    trace: str
    likelihood_ratio: float


@dataclass(frozen=True, kw_only=True)
class Named:
    """What a diagnosis of any kind says.

    Attributes
    ----------
    cause : str
        The likeliest member, a key of ``causes.CAUSES`` or ``survey_causes.SURVEY_CAUSES``.
    trace : str
        The class it belongs to, a key of ``causes.TRACES`` or ``survey_causes.SURVEY_TRACES``.
    members : tuple of str
        All causes that leave this trace here.
    is_fault : bool
        False where the hull's form may be all there is to it, or the result stands.
    evidence, action, separate : str
        Numbers; what to do on deck; the measurement that separates the members.
    gain, limit : float
        2 × log likelihood over no fault, and what it had to exceed.
    alternatives : tuple of Alternative
        The next likely classes.
    """

    cause: str
    trace: str
    members: tuple[str, ...]
    is_fault: bool
    evidence: str
    action: str
    separate: str
    gain: float | None = None
    limit: float | None = None
    alternatives: tuple[Alternative, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Diagnosis(Named):
    """What went wrong in an incline, as far as the readings tell.

    Attributes
    ----------
    largest_shift_ratio : float
        Of a tangent, signed to starboard.
    shift_over_reading_ratio : float
        Its size over the standard uncertainty of a reading.
    readings, moves, instruments, weights
        What is touched; moves counted from 0 as in the record.
    moment_tm, mass_t, arm_m, reading_m, reading_deg, length_ratio : float or None
        The size in other terms: as a heeling moment, an error of mass or arm (true less logged), of a reading
        (written less true, to starboard +), true over logged length.
    slope_with_per_tm, slope_without_per_tm, gm_with_m, gm_without_m : float or None
        With the cause in the readings, and with it (and those named before it) allowed for. [1/(t·m), m]
    """

    largest_shift_ratio: float
    shift_over_reading_ratio: float
    readings: tuple[int, ...] = ()
    moves: tuple[int, ...] = ()
    instruments: tuple[str, ...] = ()
    weights: tuple[str, ...] = ()
    moment_tm: float | None = None
    mass_t: float | None = None
    arm_m: float | None = None
    reading_m: float | None = None
    reading_deg: float | None = None
    length_ratio: float | None = None
    slope_with_per_tm: float | None = None
    slope_without_per_tm: float | None = None
    gm_with_m: float | None = None
    gm_without_m: float | None = None
