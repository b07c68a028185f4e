"""Plays on the same basis come out the same to the last bit; what is not in it may change."""

from dataclasses import fields, replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from clock.played import Given, drawn
from haulshed.clock.basis import Basis, looked
from haulshed.clock.batch import Heard, play_all
from haulshed.clock.chance import drawn as drawn_luck
from haulshed.clock.given import Luck
from haulshed.scenario import ChanceRules

CASES = st.tuples(st.integers(0, 10_000), st.integers(1, 7), st.integers(1, 4), st.integers(4, 30))
PARTS = ("tankers", "engines", "water", "scenes")
DRAWS = 4
#: What may be without end.
ENDLESS = {"tanker_min", "engine_min", "loaded_min", "closes_min", "down_min", "stored_gal"}
#: Beyond the margin that the basis keeps.
FAR_MIN = 0.01


def made(case: tuple[int, int, int, int]) -> tuple[Given, Luck]:
    seed, tankers, engines, sites = case
    incident = drawn(seed, tankers=tankers, engines=engines, sites=sites)
    names = [
        f"{kind}{row}" for kind, many in (("T", tankers), ("E", engines)) for row in range(many)
    ]
    luck = drawn_luck(
        ChanceRules(seed=seed, draws=DRAWS),
        tankers=names[:tankers],
        engines=names[tankers:],
        staffed=np.full(len(names), 0.8).tolist(),
    )
    return incident, luck


def played(incident: Given, luck: Luck) -> Heard:
    return play_all(incident.setting, incident.scenes, luck, wanted=np.ones(1, np.bool_))


def same(one: Heard, other: Heard) -> bool:
    return all(np.array_equal(a, b, equal_nan=True) for a, b in zip(one, other, strict=True))


def hashes(incident: Given, luck: Luck, looked_min: np.ndarray) -> tuple[bytes, bytes]:
    basis = Basis(incident.setting, luck)
    scenes = incident.scenes
    return basis.incidents(scenes).tobytes(), basis.sites(scenes, looked_min).tobytes()


def changed(incident: Given, part: str, name: str, rng: np.random.Generator) -> Given:
    """Return the incident with one cell of one part made another, much better or much worse."""
    whole = getattr(incident, part)
    column = getattr(whole, name).copy()
    at = tuple(rng.integers(0, size) for size in column.shape)
    if column.dtype == np.bool_:
        column[at] = not column[at]
    elif name in {"source", "weight_class", "pumper_sites"}:
        column[at] = rng.choice(column.ravel())
    elif np.issubdtype(column.dtype, np.integer):
        column[at] = rng.choice([1, 5])
    else:
        never = np.inf if name in ENDLESS else column[at] * 0.5
        column[at] = rng.choice([column[at] * 0.3, column[at] * 3, rng.uniform(5, 60), never])
    return replace(incident, **{part: replace(whole, **{name: column})})


FIELDS = [
    (part, field.name)
    for part in PARTS
    for field in fields(getattr(drawn(0, tankers=1, engines=1, sites=2), part))
]


@settings(max_examples=25, deadline=None)
@given(CASES, st.integers(0, 10_000))
def test_what_does_not_change_the_basis_changes_nothing(
    case: tuple[int, int, int, int], seed: int
) -> None:
    incident, luck = made(case)
    rng = np.random.default_rng(seed)
    before = played(incident, luck)
    basis = hashes(incident, luck, looked(before))
    for field in FIELDS * 3:
        other = changed(incident, *field, rng)
        if hashes(other, luck, looked(before)) == basis:
            assert same(before, played(other, luck)), field


@settings(max_examples=100, deadline=None)
@given(CASES, st.integers(0, 10_000))
def test_sites_beyond_those_looked_at_may_be_anything(
    case: tuple[int, int, int, int], seed: int
) -> None:
    incident, luck = made(case)
    before = played(incident, luck)
    scenes, water, rng = incident.scenes, incident.water, np.random.default_rng(seed)
    legs_min = (scenes.loaded_min + scenes.empty_min).min(axis=1)[0]
    near = (legs_min <= looked(before)[0, 0] + FAR_MIN) | (scenes.plan_gpm[0] > 0)
    near[scenes.pumper_sites] = True
    alone = ~np.isin(water.source, water.source[near])
    far = np.flatnonzero(~near & alone & np.isinf(water.closes_min))
    if not far.size:
        return
    take_min, flow_gpm = incident.tankers.take_min.copy(), water.flow_gpm.copy()
    positions, handling_min = water.positions.copy(), water.handling_min.copy()
    take_min[:, far] *= rng.uniform(0.3, 2)
    flow_gpm[far], positions[far], handling_min[far] = 5000.0, 1, 0.5
    other = replace(
        incident,
        tankers=replace(incident.tankers, take_min=take_min),
        water=replace(water, flow_gpm=flow_gpm, positions=positions, handling_min=handling_min),
    )
    assert hashes(incident, luck, looked(before)) == hashes(other, luck, looked(before))
    assert same(before, played(other, luck))


@settings(max_examples=60, deadline=None)
@given(CASES)
def test_every_figure_of_what_plays_is_in_the_basis(case: tuple[int, int, int, int]) -> None:
    incident, luck = made(case)
    plays = np.flatnonzero(np.isfinite(incident.scenes.tanker_min[0]))
    everything = np.full((1, 4), np.inf)
    before = hashes(incident, luck, everything)
    for part, name in FIELDS:
        of_a_tanker = part == "tankers" or name in {"tanker_min", "pump_off_gpm"}
        for_some_sites = name in {"pumper_sites", "site_min"}
        if for_some_sites or (of_a_tanker and not plays.size):
            continue
        whole = getattr(incident, part)
        column = getattr(whole, name).copy()
        at = [0] * column.ndim
        if of_a_tanker:
            at[-1 if part == "scenes" else 0] = plays[0]
        column[tuple(at)] = _other(column, tuple(at), name)
        other = replace(incident, **{part: replace(whole, **{name: column})})
        if not np.array_equal(column, getattr(whole, name)):
            assert hashes(other, luck, everything) != before, (part, name)


def _other(column: np.ndarray, at: tuple[int, ...], name: str) -> object:
    if column.dtype == np.bool_:
        return not column[at]
    if name == "source":
        return column.max()
    return column[at] + 1 if np.isfinite(column[at]) else 5.0
