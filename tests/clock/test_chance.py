"""What is drawn, against scipy's distributions."""

import numpy as np
import pytest
from scipy import stats

from haulshed.clock.chance import drawn, lognormal
from haulshed.scenario import ChanceRules

RULES = ChanceRules(draws=4000)


def luck(names: list[str]):  # noqa: ANN201 — Luck
    return drawn(RULES, tankers=names, engines=["E1"], staffed=[0.8] * len(names) + [1.0])


def test_factors_have_their_mean_and_spread() -> None:
    # scipy's own lognormal distribution of mean 1 and a coefficient of variation of 0.3.
    sigma = np.sqrt(np.log1p(0.3**2))
    reference = stats.lognorm(s=sigma, scale=np.exp(-(sigma**2) / 2))
    assert reference.mean() == pytest.approx(1.0)
    assert reference.std() == pytest.approx(0.3)
    shares = np.linspace(0.01, 0.99, 20)
    assert lognormal(stats.norm.ppf(shares), 0.3) == pytest.approx(reference.ppf(shares))
    handling = luck(["T1"]).site_handling
    assert stats.kstest(handling[:, 0, 0], reference.cdf).pvalue > 0.001


def test_units_come_as_often_as_they_are_staffed() -> None:
    found = luck(["T1", "T2"])
    assert found.tanker_comes.mean(axis=0) == pytest.approx(0.8, abs=0.02)
    assert found.engine_comes.all()
    assert abs(np.corrcoef(found.tanker_comes.T)[0, 1]) < 0.06


def test_the_drive_of_an_incident_is_common() -> None:
    found = luck(["T1", "T2"])
    # Two factors of 0.10 each, one of them shared: half of the variance is common.
    logs = np.log(found.tanker_drive)
    assert np.corrcoef(logs.T)[0, 1] == pytest.approx(0.5, abs=0.05)


def test_a_units_luck_is_its_own() -> None:
    few, many = luck(["T1"]), luck(["A9", "T1", "Z3"])
    assert (few.tanker_comes[:, 0] == many.tanker_comes[:, 1]).all()
    assert (few.tanker_drive[:, 0] == many.tanker_drive[:, 1]).all()
    assert (few.taking[:, 0] == many.taking[:, 1]).all()


def test_no_units() -> None:
    found = drawn(RULES, tankers=[], engines=[], staffed=[])
    assert found.tanker_comes.shape == (4000, 0)
    assert found.site_handling.shape == (4000, 0, 24)
