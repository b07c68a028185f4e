"""Small districts made at random on a straight road, with options for them."""

from typing import Any

import numpy as np
from pyproj import Transformer

from by_hand import NORTH_M, WEST_M, engine, hydrant, inputs, parcel, road, road_point, tanker
from haulshed.case import Inputs
from haulshed.options.cost import Cost
from haulshed.options.option import KINDS, Option
from haulshed.scenario import ChanceRules, DemandRules, Operation, Scenario

_TO_DEGREES = Transformer.from_crs("EPSG:32615", 4326, always_xy=True)


def district(seed: int, *, parcels: int = 14) -> Inputs:
    """Return a road of 20 miles with two weak hydrants, some tankers and engines."""
    random = np.random.default_rng(seed)
    return inputs(
        sites=[hydrant("H1", -9.0, flow_gpm=350.0), hydrant("H2", 8.5, flow_gpm=300.0)],
        stations=[{"station_id": "S1", "geometry": road_point(0.1), "aid": "own"}],
        apparatus=[
            *(
                tanker(n, tank_gal=float(random.integers(10, 35) * 100), portable_tank_gal=2500.0)
                for n in range(1, 5)
            ),
            *(engine(n) for n in range(1, 4 + int(random.integers(0, 2)))),
        ],
        parcels=[
            parcel(
                parcel_id=f"P{n}",
                geometry=road_point(float(random.uniform(-9, 9)), 20.0),
                people=float(random.integers(1, 6)),
                value=float(random.integers(50, 400)) * 1000,
                needed_gpm=float(random.integers(5, 11)) * 50,
            )
            for n in range(parcels)
        ],
        scenario=Scenario(
            demand=DemandRules(method="column"),
            operation=Operation(assembly_min=40),
            chance=ChanceRules(draws=0),
        ),
        segments=road(-10.0, -5.0, 0.0, 5.0, 10.0),
    )


def change(**keys: Any) -> Any:
    return KINDS[keys["do"]].model_validate(keys)


def place(mile: float) -> dict[str, float]:
    from_road = _TO_DEGREES.transform(WEST_M + mile * 1609.344, NORTH_M)
    return {"lat": from_road[1], "lon": from_road[0]}


def site_option(number: int, random: np.random.Generator) -> Option:
    """Return an option that adds a hydrant, pond or cistern somewhere on the road."""
    kind = str(random.choice(["hydrant", "pond", "cistern"]))
    row: dict[str, Any] = {
        "site_id": f"N{number}",
        "kind": kind,
        "flow_gpm": float(random.integers(3, 11)) * 100,
        "fill_positions": int(random.integers(1, 3)),
        **place(float(random.uniform(-9, 9))),
    }
    if kind != "hydrant":
        row["usable_gal"] = float(random.integers(10, 90)) * 1000
    cost = Cost(capital=float(random.integers(5, 60)) * 1000, yearly=200.0)
    return Option(
        name=f"n{number}",
        title=f"Site {number}",
        changes=(change(do="add fill site", row=row),),
        costs=(cost,),
    )


def site_options(seed: int, count: int) -> list[Option]:
    random = np.random.default_rng(1000 + seed)
    return [site_option(number, random) for number in range(count)]


def other_options() -> list[Option]:
    """Return options that are no fill sites; the last two contradict each other."""
    more = {**tanker(9, tank_gal=3000.0), "portable_tank_gal": 3000.0}
    changes = {
        "tanker": change(do="add unit", row=more),
        "engine": change(do="add unit", row=dict(engine(9))),
        "flow": change(do="change fill site", site_id="H1", set={"flow_gpm": 900.0}),
        "less": change(do="change fill site", site_id="H1", set={"flow_gpm": 500.0}),
    }
    return [
        Option(name=name, title=name, changes=(one,), costs=(Cost(capital=30_000.0),))
        for name, one in changes.items()
    ]
