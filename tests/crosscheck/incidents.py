"""Incidents for the simulation, in a few words."""

from math import inf

from haulshed.crosscheck.incident import Engine, Incident, Site, Source, Tanker
from haulshed.scenario import Operation
from haulshed.scenario.clock import ClockRules

#: So much that nothing waits for it [gpm].
PLENTY_GPM = 1e6
#: What a load of 1,000 gal then takes to run out [min].
UNLOAD_MIN = 1e-3


def loop(  # noqa: PLR0913 — a loop in one line
    tankers: int,
    *,
    leg_min: float = 5.0,
    fill_min: float = 2.0,
    dump_min: float = 1.0,
    fill_positions: int = 1,
    dump_positions: int = 1,
    duration_min: float = 1440.0,
    **factors: list[tuple[float, ...]],
) -> Incident:
    """
    Return like tankers that go round between one site and a dump site, and nothing else binds.

    All of filling is taking water and all of dumping is handling, so that the factors of these
    lengthen the whole visit but for a thousandth of a minute. The dump site is ready at once.
    """
    crews = tuple(
        Tanker(
            load_gal=1000.0,
            arrives_min=0.1 * row,
            take_min=(fill_min,),
            loaded_min=(leg_min,),
            empty_min=(leg_min,),
            unload_gpm=PLENTY_GPM,
            pump_off_gpm=0.0,
            portable_gal=1e9,
            **{name: of_row[row] for name, of_row in factors.items()},
        )
        for row in range(tankers)
    )
    engine = Engine(arrives_min=0.0, at_site_min=(0.0,), tank_gal=0.0)
    extra = Engine(arrives_min=0.0, at_site_min=(0.0,), portable_gal=1e9)
    return Incident(
        tankers=crews,
        engines=(engine, *[extra] * dump_positions),
        sites=(Site(handling_min=0.0, positions=fill_positions, flow_gpm=inf),),
        sources=(Source(flow_gpm=inf),),
        asked_gpm=PLENTY_GPM,
        line_gpm=PLENTY_GPM,
        builds=True,
        rules=ClockRules(
            attack_setup_min=0, attack_min=0, overhaul_min=0, supply_line_min=0, next_tank_min=0,
            dump_site_people=0, dump_site_build_min=0, draft_setup_min=0,
        ),
        operation=Operation(
            dump_handling_min=dump_min, dump_positions_max=dump_positions, duration_min=duration_min
        ),
    )  # fmt: skip
