"""What a sheet says, in words: the answer, the ways, the call, the hose, the place, the clock."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from haulshed.assess.call_order import EngineCalled, TankerCalled
from haulshed.assess.drives import DumpPlace, SiteDrives
from haulshed.assess.sheets import Sheet
from haulshed.outputs.sheet.clock_words import runs_out, timeline
from haulshed.outputs.sheet.headline import figure, flow, headline, why
from haulshed.outputs.sheet.names import named, road_named
from haulshed.outputs.sheet.sizes import distance, position
from haulshed.outputs.sheet.turns import turn_lines, turned_back
from haulshed.outputs.wording import (
    KIND_WORDS,
    LIMIT_MEANS,
    SLACK_GPM,
    Wording,
    minute,
    sentence,
)
from haulshed.tables.answers import LimitedBy
from haulshed.tables.fill_sites import SiteKind

#: Tankers and engines that are listed.
_LISTED = 12
#: A round trip that is longer by less takes as long [min].
_NO_LONGER_MIN = 0.05
#: Hose that lacks by less than this is not lacking [ft].
_NO_LACK_FT = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteWords:
    """One fill site and the ways there and back."""

    title: str
    facts: str
    there: Sequence[str]
    back: Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWords:
    """A sheet as it is printed; every value is plain text."""

    parcel_id: str
    verdict: str
    answer: str
    why: str
    entrance: str
    no_ways: str  #: why there are no ways; empty if there are
    sites: Sequence[SiteWords]
    flow_head: str  #: over what time the flows of the tankers are
    tankers: Sequence[Sequence[str]]  #: number, unit, tank, minute, flow
    more_tankers: str
    engines: str
    hose: str
    dump: str
    timeline: Sequence[Sequence[str]]  #: minute, what
    runs_out: str


def sheet_words(sheet: Sheet, wording: Wording) -> SheetWords:
    """Return what a sheet says."""
    return SheetWords(
        parcel_id=sheet.parcel_id,
        verdict=str(sheet.answer["verdict"]).upper(),
        answer=headline(sheet, wording),
        why=why(sheet),
        entrance=_entrance(sheet),
        no_ways="" if sheet.sites else _no_ways(sheet),
        sites=[_site(sheet, site, wording) for site in sheet.sites],
        flow_head=f"On paper over {sheet.planned_min:,.0f} min",
        tankers=[
            _tanker(number, one, sheet, wording)
            for number, one in enumerate(_counting(sheet)[:_LISTED], start=1)
        ],
        more_tankers=_more_tankers(sheet),
        engines="; ".join(_engine(one) for one in sheet.engines if one.counts)
        or "none is there in time",
        hose=_hose(sheet, wording),
        dump=_dump(sheet, sheet.dump),
        timeline=list(timeline(sheet, wording)),
        runs_out=runs_out(sheet, wording),
    )


def _entrance(sheet: Sheet) -> str:
    if sheet.dump is None:
        return "No public road is near enough: no entrance is known"
    lat, lon = (figure(sheet, name) or 0.0 for name in ("access_lat", "access_lon"))
    return f"{position(lat, lon)}, {road_named(sheet.dump.name)}"


def _no_ways(sheet: Sheet) -> str:
    limit = LimitedBy(str(sheet.answer["limited_by"]))
    if limit in (LimitedBy.NO_ROAD, LimitedBy.NO_WATER):
        return sentence(LIMIT_MEANS[limit]) + "."
    return "No open fill site can be reached."


def _site(sheet: Sheet, site: SiteDrives, wording: Wording) -> SiteWords:
    called = " ".join(map(named, filter(None, (site.site_id, site.name))))
    kind = KIND_WORDS[SiteKind(site.kind)]
    facts = [
        f"gives {wording.flow(site.rate_gpm)}",
        _count(site.fill_positions, "fill position"),
        *(["needs a pumper"] if site.needs_pumper else []),
        *_others(site),
    ]
    if turned_back(site.empty, site.loaded):
        back_head = "Back loaded, the same roads"
    else:
        back_head = "Back loaded, by OTHER roads"
    units = wording.system
    empty_mi, loaded_mi = (distance(way.way.miles, units) for way in (site.empty, site.loaded))
    return SiteWords(
        title=f"{called}, {kind}, {_carries(sheet, site, wording)}",
        facts=", ".join(facts),
        there=[
            f"There empty: {empty_mi}, {minute(site.empty_min)} min",
            *turn_lines(site.empty, units, leads_to=f"{kind} {named(site.site_id)}"),
        ],
        back=[
            f"{back_head}: {loaded_mi}, {minute(site.loaded_min)} min",
            *turn_lines(site.loaded, units, leads_to="entrance"),
        ],
    )


def _carries(sheet: Sheet, site: SiteDrives, wording: Wording) -> str:
    if not site.carries_gpm:
        return "in reserve" if figure(sheet, "sustained_gpm") else "carries nothing"
    return f"carries {flow(site.carries_gpm, wording)}"


def _others(site: SiteDrives) -> Iterator[str]:
    if site.other_units:
        listed = ", ".join(map(named, site.other_units))
        yield f"posted limits send {listed} another way or keep them off"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")


def _counting(sheet: Sheet) -> list[TankerCalled]:
    return [one for one in sheet.tankers if one.counts]


def _tanker(
    number: int, one: TankerCalled, sheet: Sheet, wording: Wording
) -> tuple[str, str, str, str, str]:
    needed_gpm = figure(sheet, "needed_gpm")
    enough = needed_gpm is not None and one.flow_gpm + SLACK_GPM >= needed_gpm
    by = (
        ""
        if one.flow_gpm <= 0
        else (" by nursing" if one.nurse_gpm >= one.dump_site_gpm else " by dump site")
    )
    return (
        f"{number}",
        f"{named(one.unit_id)} ({named(one.station_id)})",
        wording.whole(one.tank_gal, "gal"),
        minute(one.arrival_min),
        f"{flow(one.flow_gpm, wording)}{by}{', enough' if enough else ''}",
    )


def _more_tankers(sheet: Sheet) -> str:
    unlisted = _counting(sheet)[_LISTED:]
    late = [one for one in sheet.tankers if not one.counts]
    parts = [
        f"{what}: "
        + ", ".join(f"{named(one.unit_id)} (min {minute(one.arrival_min)})" for one in some)
        for what, some in (("Then", unlisted), ("Too late to count", late[:_LISTED]))
        if some
    ]
    return ". ".join(parts) or ("" if sheet.tankers else "No tanker comes.")


def _engine(one: EngineCalled) -> str:
    job = "stands by"
    if one.attacks:
        job = "attacks"
    elif one.drafts:
        job = "drafts at the dump site"
    elif one.site_id:
        job = f"pumps at fill site {named(one.site_id)}"
    return f"{named(one.unit_id)} (min {minute(one.arrival_min)}) {job}"


def _hose(sheet: Sheet, wording: Wording) -> str:
    lay_ft = figure(sheet, "lay_ft")
    if lay_ft is None:
        return "No lay is known."
    source = {
        "given": "as given",
        "driveway": "along the driveway",
        "straight": "straight, with detour",
    }[str(sheet.answer["lay_source"])]
    head = f"Lay {wording.whole(lay_ft, 'ft')} from the entrance to the structure ({source})"
    laid = sum(one.laid_ft for one in sheet.hose)
    parts = [
        f"{wording.whole(one.laid_ft, 'ft')} of {one.diameter_in:g}-in from {named(one.unit_id)}"
        for one in sheet.hose
    ]
    short_ft = lay_ft - laid
    missing = [f"{wording.whole(short_ft, 'ft')} MISSING"] if short_ft > _NO_LACK_FT else []
    if not parts:
        return f"{head}. No engine that is there in time brings supply hose."
    return f"{head}: {', '.join([*parts, *missing])}."


def _dump(sheet: Sheet, dump: DumpPlace | None) -> str:
    if dump is None:
        return "No road for one is near enough."
    surface = "unpaved" if dump.unpaved else "paved"
    road_class = dump.road_class.replace("_", " ")
    at = f"At the entrance on {road_named(dump.name)} ({road_class}, {surface})."
    return " ".join((at, *_around(sheet, dump)))


def _around(sheet: Sheet, dump: DumpPlace) -> Iterator[str]:
    if dump.dead_end is None:
        if sheet.sites:
            yield "The first fill site is on the same stretch of road: no circuit was looked for."
        return
    if dump.circuit is None:
        yield (
            "DEAD END for tankers: no other way back to the fill site. Keep room to turn and to"
            " pass."
        )
        return
    come, go = dump.circuit.loaded.steps[-1], dump.circuit.empty.steps[0]
    back = next((step.name for step in dump.circuit.empty.steps[1:] if step.name), "")
    by = f" by {named(back)}" if back else ""
    yield (
        f"Through road. One-way circuit: come loaded driving {come.heading}, leave empty driving"
        f" {go.heading}{by}: {_cost(dump.circuit.extra_min)}."
    )


def _cost(extra_min: float) -> str:
    if extra_min < _NO_LONGER_MIN:
        return "no longer than the quickest way"
    return f"{extra_min:.1f} min a round trip longer than turning round"
