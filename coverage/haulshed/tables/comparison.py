"""Before and after: the columns of ``compare.csv``, one row an option and parcel."""

from haulshed.tables.answers import LimitedBy, Verdict
from haulshed.tables.table import Column, Kind, Table


def _text(name: str, meaning: str, choices: tuple[str, ...] = ()) -> Column:
    return Column(name=name, kind=Kind.TEXT, meaning=meaning, choices=choices)


def _flow(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit="gpm", meaning=meaning)


COMPARISON = Table(
    name="compare",
    meaning="Every parcel before and after each option.",
    id_column="parcel_id",
    columns=(
        _text("option", "the option, by its name; several taken together are joined by +"),
        _text("parcel_id", "the parcel, as in the input"),
        _flow("needed_gpm", "needed flow with the option"),
        _flow("before_gpm", "sustained flow without the option"),
        _flow("after_gpm", "sustained flow with it"),
        _flow("gain_gpm", "after_gpm less before_gpm"),
        _text("verdict_before", "what holds the needed flow without it", tuple(Verdict)),
        _text("verdict_after", "what holds the needed flow with it", tuple(Verdict)),
        Column(
            name="lifted",
            kind=Kind.YES_NO,
            meaning="the needed flow is held on paper with the option and is not without",
        ),
        Column(
            name="lost",
            kind=Kind.YES_NO,
            meaning="the needed flow is held on paper without the option and is not with it",
        ),
        Column(
            name="held_share_before",
            kind=Kind.NUMBER,
            meaning="share of the incidents drawn in which the need is held without it",
        ),
        Column(
            name="held_share_after",
            kind=Kind.NUMBER,
            meaning="share of the incidents drawn in which the need is held with it",
        ),
        _text("limited_by_before", "what holds before_gpm down", tuple(LimitedBy)),
        _text("limited_by_after", "what holds after_gpm down", tuple(LimitedBy)),
        _text("best_site_id", "fill site that carries most with the option"),
        Column(name="people", kind=Kind.NUMBER, meaning="people living there, as in the input"),
        Column(name="value", kind=Kind.NUMBER, meaning="assessed value, as in the input"),
    ),
)
