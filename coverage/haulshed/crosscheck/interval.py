"""What a few measured values say of their mean."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy import stats

#: Chance with which the interval holds the true mean.
CONFIDENCE = 0.95
#: With fewer values than this, an interval says little, and with one there is none.
FEW = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Mean:
    """A mean and, from two values on, the interval that holds the true one 19 times in 20."""

    count: int
    mean: float  #: nan: no value
    low: float  #: nan: fewer than two values
    high: float

    @property
    def few(self) -> bool:
        """Whether there are too few values to build on."""
        return self.count < FEW


def mean_of(values: Iterable[float]) -> Mean:
    """
    Return the mean of the values that are numbers, with Student's interval.

    It takes the values as drawn independently from one normal distribution, which handling times
    are only roughly.

    Examples
    --------
    Student's t is 2.776 for four degrees of freedom (any table): 3 ± 2.776 × 1.5811 / √5.

    >>> found = mean_of([1, 2, 3, 4, 5])
    >>> found.mean, round(found.low, 3), round(found.high, 3)
    (3.0, 1.037, 4.963)
    """
    known = np.array([value for value in values if np.isfinite(value)], dtype=float)
    if known.size == 0:
        return Mean(count=0, mean=np.nan, low=np.nan, high=np.nan)
    mean = float(known.mean())
    if known.size == 1:
        return Mean(count=1, mean=mean, low=np.nan, high=np.nan)
    spread = float(stats.t.ppf((1 + CONFIDENCE) / 2, known.size - 1))
    half = spread * float(known.std(ddof=1)) / known.size**0.5
    return Mean(count=int(known.size), mean=mean, low=mean - half, high=mean + half)


def inverse(mean: Mean) -> Mean:
    """
    Return the mean of minutes a gallon as a rate [gpm]: the rate that gives the mean time.

    A bound that would be no rate, since the times' interval takes in 0, is nan.

    Examples
    --------
    >>> inverse(Mean(count=3, mean=0.002, low=0.001, high=0.004))
    Mean(count=3, mean=500.0, low=250.0, high=1000.0)
    """
    low, high = (1 / bound if bound > 0 else np.nan for bound in (mean.high, mean.low))
    return Mean(count=mean.count, mean=1 / mean.mean, low=low, high=high)
