from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from haulshed.outputs.palette import (
    CROSSED,
    FLOW_FILLS,
    HYDRANT_SIGNS,
    KIND_SIGNS,
    SLANTED,
    VERDICT_FILLS,
    site_sign,
)
from haulshed.tables.answers import Verdict
from haulshed.tables.fill_sites import SiteKind

#: sRGB to XYZ, white point D65 (IEC 61966-2-1).
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
#: Colour vision deficiency, severity 1.0, in linear RGB (Machado, Oliveira and Fernandes, IEEE
#: TVCG 15, 2009; values from memory).
SEEN_BY = {
    "all": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
#: A difference that nobody misses: 2.3 is just noticeable (CIE 1976, ΔE*ab; value from memory).
PLAIN = 10.0


def lab(colour: str, seen_by: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return L*, a*, b* (CIE 1976) of #rrggbb."""
    code = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    linear = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    xyz = TO_XYZ @ np.clip(seen_by @ linear, 0, 1) / (TO_XYZ @ np.ones(3))
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.mark.parametrize("eyes", SEEN_BY)
@pytest.mark.parametrize("fills", [tuple(VERDICT_FILLS.values()), FLOW_FILLS])
def test_no_two_classes_look_alike(fills: tuple, eyes: str) -> None:
    for one, other in combinations(fills, 2):
        away = np.linalg.norm(lab(one.colour, SEEN_BY[eyes]) - lab(other.colour, SEEN_BY[eyes]))
        assert away > PLAIN, (one, other)


@pytest.mark.parametrize("fills", [tuple(VERDICT_FILLS.values()), FLOW_FILLS])
def test_a_grey_print_keeps_them_apart(fills: tuple) -> None:
    greys = sorted(lab(fill.colour, SEEN_BY["all"])[0] for fill in fills)
    assert np.diff(greys).min() > PLAIN


def test_answers_darken_as_they_worsen() -> None:
    worse = [lab(VERDICT_FILLS[v].colour, SEEN_BY["all"])[0] for v in list(Verdict)[:5]]
    assert worse == sorted(worse, reverse=True)


def test_what_cannot_be_supplied_is_hatched_too() -> None:
    assert {v: fill.hatch for v, fill in VERDICT_FILLS.items() if fill.hatch} == {
        Verdict.SHORT: SLANTED,
        Verdict.NONE: CROSSED,
    }


@pytest.mark.parametrize(
    ("rate_gpm", "letter", "strongest"),
    [(1500, "AA", 2), (1499, "A", 1), (1000, "A", 1), (999, "B", 0), (500, "B", 0), (499, "C", 0)],
)
def test_hydrants_carry_their_class_s_letter_and_colour(
    rate_gpm: float, letter: str, strongest: int
) -> None:
    """Light blue, green, orange, red: NFPA 291 (value from memory)."""
    sign = site_sign(SiteKind.HYDRANT, rate_gpm)
    rgb = [int(sign.fill[at : at + 2], 16) for at in (1, 3, 5)]
    assert sign.letter == letter
    assert rgb.index(max(rgb)) == strongest


def test_only_hydrants_have_a_hue_and_every_sign_its_own_letter() -> None:
    assert {sign.fill for sign in KIND_SIGNS.values()} == {"#ffffff"}
    letters = [sign.letter for _, sign in HYDRANT_SIGNS] + [s.letter for s in KIND_SIGNS.values()]
    assert len(set(letters)) == len(letters)
    assert len({sign.outline for sign in KIND_SIGNS.values()}) == len(KIND_SIGNS)
    assert site_sign(SiteKind.HYDRANT, float("nan")).letter == "C"
