"""A district's incidents: as the product gives them to the clock, and for the simulation."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from haulshed import pipeline
from haulshed.assess.clock_case import scenes_of, setting_of
from haulshed.assess.model import work_out
from haulshed.clock.chance import drawn
from haulshed.clock.given import Luck, Scenes
from haulshed.clock.setting import Setting
from haulshed.crosscheck.incident import Engine, Incident, Site, Source, Tanker
from haulshed.inputs.district import read_district
from haulshed.scenario import ChanceRules

LARKMOOR = Path(__file__).parents[2] / "data_samples" / "larkmoor" / "district.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class District:
    """What the product gives the clock: the sustained flow is asked for at every parcel."""

    setting: Setting
    scenes: Scenes
    luck: Luck
    wanted: np.ndarray

    def incident(self, place: int, draw: int) -> Incident:
        """Return one of the incidents, every factor of its draw in its minutes."""
        water = self.setting.water
        return Incident(
            tankers=tuple(
                self._tanker(place, draw, row) for row in range(self.setting.tankers.crew.size)
            ),
            engines=tuple(
                self._engine(place, draw, row) for row in range(self.setting.engines.crew.size)
            ),
            sites=tuple(
                Site(
                    handling_min=float(water.handling_min[at]),
                    positions=int(water.positions[at]),
                    flow_gpm=float(water.flow_gpm[at]),
                    source=int(water.source[at]),
                    needs_pumper=bool(water.needs_pumper[at]),
                    open=bool(water.open[at]),
                    closes_min=float(water.closes_min[at]),
                )
                for at in range(water.flow_gpm.size)
            ),
            sources=tuple(
                Source(flow_gpm=float(flow), stored_gal=float(stored), recharge_gpm=float(recharge))
                for flow, stored, recharge in zip(
                    water.source_gpm, water.stored_gal, water.recharge_gpm, strict=True
                )
            ),
            asked_gpm=float(self.scenes.asked_gpm[place]),
            line_gpm=float(self.scenes.line_gpm[place]),
            lay_ft=float(self.scenes.lay_ft[place]),
            builds=bool(self.scenes.builds[place]),
            plan_gpm=tuple(self.scenes.plan_gpm[place].tolist()),
            pumper_sites=tuple(at for at in self.scenes.pumper_sites[place].tolist() if at >= 0),
            pumper_first=bool(self.scenes.pumper_first[place]),
            rules=self.setting.rules,
            operation=self.setting.operation,
        )

    def _tanker(self, place: int, draw: int, row: int) -> Tanker:
        crews, scenes, luck = self.setting.tankers, self.scenes, self.luck
        pace = float(luck.tanker_drive[draw, row])
        turnout = float(crews.turnout_min[row]), float(luck.tanker_turnout[draw, row])
        of_class = crews.weight_class[row]
        return Tanker(
            load_gal=float(crews.load_gal[row]),
            arrives_min=_arrives_min(
                float(scenes.tanker_min[place, row]), turnout, pace, luck.tanker_comes[draw, row]
            ),
            take_min=tuple(crews.take_min[row].tolist()),
            loaded_min=tuple((scenes.loaded_min[place, of_class] * pace).tolist()),
            empty_min=tuple((scenes.empty_min[place, of_class] * pace).tolist()),
            unload_gpm=float(crews.unload_gpm[row]),
            pump_off_gpm=float(scenes.pump_off_gpm[place, row]),
            portable_gal=float(crews.portable_gal[row]),
            crew=int(crews.crew[row]),
            down_min=float(crews.down_min[row]),
            handling_factor=tuple(luck.site_handling[draw, row].tolist()),
            taking_factor=tuple(luck.taking[draw, row].tolist()),
            unload_factor=tuple(luck.unload_handling[draw, row].tolist()),
        )

    def _engine(self, place: int, draw: int, row: int) -> Engine:
        crews, luck = self.setting.engines, self.luck
        pace = float(luck.engine_drive[draw, row])
        turnout = float(crews.turnout_min[row]), float(luck.engine_turnout[draw, row])
        comes = luck.engine_comes[draw, row]
        planned_min = float(self.scenes.engine_min[place, row])
        at_site_min = [
            _arrives_min(float(minute), turnout, pace, comes) for minute in crews.site_min[row]
        ]
        return Engine(
            arrives_min=_arrives_min(planned_min, turnout, pace, comes),
            at_site_min=tuple(at_site_min),
            tank_gal=float(crews.tank_gal[row]),
            portable_gal=float(crews.portable_gal[row]),
            hose_ft=float(crews.hose_ft[row]),
            crew=int(crews.crew[row]),
        )


def _arrives_min(
    planned_min: float, turnout: tuple[float, float], pace: float, comes: np.bool_
) -> float:
    """Return turnout × its factor + drive × its factor; inf where the unit stays away."""
    minutes, factor = turnout
    return minutes * factor + (planned_min - minutes) * pace if comes else np.inf


def larkmoor(*, draws: int, each: int = 1) -> District:
    """Return the demo district as its own run plays it, or each so many of its parcels."""
    read = read_district(
        LARKMOOR, scenario=None, set_aside=False, cache_dir=None, progress=pipeline.quiet
    )
    inputs = replace(read.inputs, parcels=read.inputs.parcels.iloc[::each])
    working = work_out(inputs, progress=pipeline.quiet)
    units = working.ground.assignment
    ids, staffed = units.units["unit_id"].to_numpy(), units.numbers("staffed_share")
    luck = drawn(
        ChanceRules(draws=draws),
        tankers=ids[units.is_tanker].tolist(),
        engines=ids[units.is_engine].tolist(),
        staffed=[*staffed[units.is_tanker], *staffed[units.is_engine]],
    )
    return District(
        setting=setting_of(working.ground),
        scenes=scenes_of(working, working.flows.sustained_gpm),
        luck=luck,
        wanted=working.there.access.on_road & (working.flows.sustained_gpm > 0),
    )
