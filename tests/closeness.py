"""Every tolerance of a measured figure goes through here, so that it is the claimed uncertainty and not a guess."""

from collections.abc import Iterable
from math import exp, lgamma, log

#: A 95 % interval is left by one true value in twenty. Half as wide again, it is left by one in 300, so that a test
#: on one fixed picture fails for a wrong claim and not for bad luck.
SLACK = 1.5
#: How often a true interval may be left in a sample: 95 % held in the long run; see `assert_mostly_within`.
HELD = 0.95


def assert_within(value: float, u95: float, truth: float, *, at_most: float | None = None) -> None:
    """`truth` lies in `value` +- `u95` (with slack for one bad draw), and `u95` itself is at most `at_most`."""
    assert u95 > 0, f"an uncertainty must be positive, got {u95}"
    assert abs(value - truth) <= SLACK * u95, f"{value} +- {u95} is {value - truth:+.4g} from the truth {truth}"
    if at_most is not None:
        assert u95 <= at_most, f"uncertainty {u95} is larger than {at_most}: the figure says too little"


def assert_mostly_within(errors: Iterable[float], u95s: Iterable[float]) -> None:
    """At least as many of the intervals hold as 95 % intervals do in all but one of a thousand samples.

    The least allowed number is the 0.1 % point of the binomial distribution.
    """
    pairs = list(zip(errors, u95s, strict=True))
    held = sum(abs(e) <= u for e, u in pairs)
    assert held >= least_held(len(pairs)), f"only {held} of {len(pairs)} intervals hold the truth"


def least_held(count: int, share: float = HELD, risk: float = 0.001) -> int:
    """Smallest number of `count` intervals that hold, not reached with probability `risk` at most."""
    below = 0.0
    for held in range(count + 1):
        # In logarithms: of thousands the binomial coefficients are beyond any float.
        chosen = lgamma(count + 1) - lgamma(held + 1) - lgamma(count - held + 1)
        below += exp(chosen + held * log(share) + (count - held) * log(1 - share))
        if below > risk:
            return held
    return count
