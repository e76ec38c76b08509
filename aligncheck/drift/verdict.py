"""Three verdicts, so that nothing is called sure that is not."""

from aligncheck.drift.drift import Verdict


def verdict(value_mm: float, u95_mm: float, tolerance_mm: float) -> Verdict:
    """``out`` if the value less its interval is beyond the tolerance, ``within`` if value plus interval is not."""
    size = abs(value_mm)
    if size - u95_mm > tolerance_mm:
        return "out"
    return "within" if size + u95_mm <= tolerance_mm else "unsure"
