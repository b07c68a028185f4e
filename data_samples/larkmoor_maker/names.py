"""Invented names for the lanes: a word of the country and a word of its lie."""

from larkmoor_maker.frame import random

_FIRST = (
    "Larch", "Bracken", "Stony", "Hollin", "Wether", "Kestrel", "Rushy", "Blackthorn", "Fallow",
    "Ember", "Whin", "Cloudberry", "Juniper", "Flint", "Saddle", "Sorrel", "Lantern", "Ravel",
    "Thistle", "Copper", "Mossy", "Windle", "Cinder", "Barley", "Teasel", "Harrow", "Rowan",
    "Shale", "Otter", "Meadowsweet", "Bittern", "Yarrow", "Sheepfold", "Tarn", "Hazel", "Dunnock",
)  # fmt: skip
_SECOND = (
    "Hollow", "Knob", "Ridge", "Bottom", "Gap", "Spring", "Hill", "Fork", "Corner", "Bend", "Crest",
    "Run", "Field", "Edge", "Nook", "Gate",
)  # fmt: skip
_LAST = ("Lane", "Road", "Lane", "Road", "Trail")
#: Names that readers and writers must keep whole.
_HARD = ("Aubépine Lane", "Salt & Pepper Road", "Drover's Rest Lane")


def lane_names(count: int) -> list[str]:
    """Return so many different names, the hard ones first."""
    pairs = [f"{first} {second}" for first in _FIRST for second in _SECOND]
    chosen = random("names").permutation(len(pairs))[: count - len(_HARD)]
    plain = [f"{pairs[pick]} {_LAST[pick % len(_LAST)]}" for pick in chosen]
    return [*_HARD, *plain]
