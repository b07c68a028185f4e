"""What is settled before the first tanker moves: who does what, and when things are ready."""

from collections.abc import Iterable
from math import inf

from haulshed.crosscheck.incident import Engine, Incident

#: The engine's work that is no site.
_AT_DUMP_SITE = -1


class Start:
    """Every minute that does not depend on how the tankers go round."""

    def __init__(self, incident: Incident) -> None:
        rules = incident.rules
        engines = sorted(
            (one for one in incident.engines if one.arrives_min < inf),
            key=lambda engine: engine.arrives_min,
        )
        attack, others = engines[:1], engines[1:]
        sent = dict(zip(self._jobs(incident), others, strict=False))
        drafting = sent.pop(_AT_DUMP_SITE, None)
        self.attack_tank_gal = attack[0].tank_gal if attack else 0.0
        self.first_water_min = attack[0].arrives_min + rules.attack_setup_min if attack else inf
        self.needed_min = self.first_water_min + rules.attack_min
        self.overhaul_min = self.needed_min + incident.operation.duration_min
        self.end_min = self.overhaul_min + rules.overhaul_min
        self.line_min = _sum_reaches(
            ((one.arrives_min, one.hose_ft) for one in engines), incident.lay_ft
        )
        self.line_min += rules.supply_line_min
        self.gives_water_min = [
            self._gives_water_min(incident, at, sent) for at in range(len(incident.sites))
        ]
        staying = [one for one in engines if all(one is not away for away in sent.values())]
        drafting_min = drafting.arrives_min if drafting else inf
        self.tanks = self._tanks(incident, staying, drafting_min)

    @property
    def ready_min(self) -> float:
        """When the dump site is ready; inf: never."""
        return self.tanks[0][0] if self.tanks else inf

    @property
    def known_minutes(self) -> set[float]:
        """Every minute at which something changes."""
        return {
            self.first_water_min,
            self.needed_min,
            self.overhaul_min,
            self.end_min,
            self.line_min,
            *self.gives_water_min,
            *(minute for minute, _ in self.tanks),
        }

    @staticmethod
    def _jobs(incident: Incident) -> list[int]:
        """Return the work of the second engine, the third and so on: a site or the dump site."""
        jobs = list(incident.pumper_sites)
        if incident.builds:
            jobs.insert(1 if incident.pumper_first else 0, _AT_DUMP_SITE)
        return jobs

    @staticmethod
    def _gives_water_min(incident: Incident, at: int, sent: dict[int, Engine]) -> float:
        if not incident.sites[at].needs_pumper:
            return 0.0
        engine = sent.get(at)
        return engine.at_site_min[at] + incident.rules.draft_setup_min if engine else inf

    def _tanks(
        self, incident: Incident, staying: list[Engine], drafting_min: float
    ) -> list[tuple[float, float]]:
        """Return when each portable tank stands and what it holds."""
        rules = incident.rules
        tankers = [one for one in incident.tankers if one.plays]
        brought = [(one.arrives_min, one.portable_gal) for one in incident.engines]
        brought += [(one.arrives_min, one.portable_gal) for one in tankers]
        tanks = sorted(
            (one for one in brought if one[1] > 0 and one[0] < inf), key=lambda tank: tank[0]
        )[: incident.operation.dump_positions_max]
        if not (incident.builds and tanks):
            return []
        people = [(one.arrives_min, float(one.crew)) for one in staying]
        people += [(one.arrives_min, float(max(one.crew - 1, 0))) for one in tankers]
        people_min = _sum_reaches(sorted(people), float(rules.dump_site_people))
        there_min = max(drafting_min, tanks[0][0], people_min)
        stands_min = max(there_min + rules.dump_site_build_min, self.line_min)
        standing = [(stands_min, tanks[0][1])]
        for arrives_min, room_gal in tanks[1:]:
            stands_min = max(stands_min, arrives_min) + rules.next_tank_min
            standing.append((stands_min, room_gal))
        return [tank for tank in standing if tank[0] < inf]


def _sum_reaches(arrivals: Iterable[tuple[float, float]], of: float) -> float:
    """Return the minute at which what has arrived adds up to `of`; inf: never."""
    total = 0.0
    for minute, more in arrivals:
        total += more
        if total >= of:
            return minute
    return 0.0 if of <= 0 else inf
