"""The fleet programme written again from its definition, for HiGHS: nothing shared with the model.

Variables are the shares x of each tanker's time on each site, as the definition has them; every
set of drafting sites is tried one by one, or a binary a site says whether it is used.
"""

from itertools import combinations

import numpy as np
from scipy.optimize import LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from shuttle.made import Made

TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


def _waters(made: Made, p: int) -> dict[int, float]:
    """Return the limit of every source: the largest figures stated for its open sites."""
    limit = {}
    for number in set(made.sites.source[made.sites.open].tolist()):
        on_it = np.flatnonzero((made.sites.source == number) & made.sites.open)
        stated = [g for g in made.sites.usable_gal[on_it] if np.isfinite(g)]
        stored_gal = max(stated) if stated else np.inf
        lasting = stored_gal / made.places.duration_min[p] + max(made.sites.recharge_gpm[on_it])
        limit[number] = min(max(made.sites.flow_gpm[on_it]), lasting)
    return limit


def usable_sites(made: Made, p: int) -> list[int]:
    waters = _waters(made, p)
    legs = (made.places.loaded_min[p] + made.places.empty_min[p]).min(axis=0)
    return [
        s
        for s in range(len(legs))
        if made.sites.open[s]
        and np.isfinite(legs[s])
        and made.sites.flow_gpm[s] > 0
        and made.sites.fill_positions[s] > 0
        and waters[made.sites.source[s]] > 0
    ]


class Written:
    """Objective and rows for some tankers with their unloading times, over some sites."""

    def __init__(
        self,
        made: Made,
        p: int,
        unload_min: dict[int, float],
        over: list[int],
        *,
        positions: float,
        cap: tuple[float, int],
    ) -> None:
        tankers, sites, places = made.tankers, made.sites, made.places
        legs = places.loaded_min[p] + places.empty_min[p]
        own = {i: legs[tankers.weight_class[i]] for i in unload_min}
        self.cells = [(i, s) for i in unload_min for s in over if np.isfinite(own[i][s])]
        self.load, self.trip, self.fill, self.legs = {}, {}, {}, {}
        for i, s in self.cells:
            rate = min(sites.flow_gpm[s], tankers.fill_gpm[i])
            self.fill[i, s] = sites.handling_min[s] + tankers.tank_gal[i] / rate
            self.legs[i, s] = own[i][s]
            self.trip[i, s] = unload_min[i] + self.legs[i, s] + self.fill[i, s]
            self.load[i, s] = tankers.usable_gal[i] / self.trip[i, s]
        self.rows: list[tuple[int, dict[tuple[int, int], float], float]] = []
        for i in unload_min:
            self.rows.append((0, {cell: 1.0 for cell in self.cells if cell[0] == i}, 1.0))
        for s in over:
            here = [cell for cell in self.cells if cell[1] == s]
            busy = {cell: self.fill[cell] / self.trip[cell] for cell in here}
            self.rows.append((1, busy, float(sites.fill_positions[s])))
            drawn = {cell: self.load[cell] for cell in here}
            self.rows.append((2, drawn, float(sites.flow_gpm[s])))
        for number, limit in _waters(made, p).items():
            drawn = {(i, s): self.load[i, s] for i, s in self.cells if sites.source[s] == number}
            if drawn:
                self.rows.append((2, drawn, limit))
        if np.isfinite(positions):
            busy = {(i, s): unload_min[i] / self.trip[i, s] for i, s in self.cells}
            self.rows.append((3, busy, positions))
        self.rows.append((cap[1], dict(self.load), cap[0]))

    def matrix(self) -> np.ndarray:
        return np.array([[row.get(cell, 0.0) for cell in self.cells] for _, row, _ in self.rows])

    def gain(self) -> np.ndarray:
        return np.array([self.load[cell] for cell in self.cells])

    def limits(self, stretch: float = 0.0) -> np.ndarray:
        return np.array([limit * (1 + stretch * group) for group, _, limit in self.rows])

    def flow(self) -> float:
        if not self.cells:
            return 0.0
        end = linprog(-self.gain(), self.matrix(), self.limits(), options=TIGHT)
        assert end.status == 0
        return -float(end.fun)

    def shares(self) -> np.ndarray:
        """Return the flow owed to each group, by the prices of the stretched programme."""
        end = linprog(-self.gain(), self.matrix(), self.limits(1e-6), options=TIGHT)
        owed = -end.ineqlin.marginals * self.limits()
        groups = np.array([group for group, _, _ in self.rows])
        return np.array([owed[groups == group].sum() for group in range(7)])

    def flow_with_binaries(self, drafting: list[int], pumpers: int) -> float:
        """Return the flow with a binary for every drafting site."""
        cells, extra = len(self.cells), len(drafting)
        rows = [[*row, *[0.0] * extra] for row in self.matrix().tolist()]
        limits = self.limits().tolist()
        for k, s in enumerate(drafting):
            for column, cell in enumerate(self.cells):
                if cell[1] == s:
                    row = [0.0] * (cells + extra)
                    row[column], row[cells + k] = 1.0, -1.0
                    rows.append(row)
                    limits.append(0.0)
        rows.append([*[0.0] * cells, *[1.0] * extra])
        limits.append(float(pumpers))
        end = milp(
            -np.concatenate((self.gain(), np.zeros(extra))),
            integrality=np.array([0] * cells + [1] * extra),
            bounds=(0, 1),
            constraints=LinearConstraint(csr_array(np.array(rows)), -np.inf, np.array(limits)),
            options={"mip_rel_gap": 0},
        )
        assert end.status == 0
        return -float(end.fun)


def _sets(made: Made, p: int, pumpers: int) -> list[list[int]]:
    """Return every largest set of sites that the engines allow."""
    usable = usable_sites(made, p)
    plain = [s for s in usable if not made.sites.needs_pumper[s]]
    drafting = [s for s in usable if made.sites.needs_pumper[s]]
    size = min(max(pumpers, 0), len(drafting))
    return [plain + list(chosen) for chosen in combinations(drafting, size)]


def dump_positions(made: Made, p: int) -> float:
    brought = int(made.tankers.portable_tank[made.places.counted[p]].sum())
    return float(min(made.places.dump_positions[p], made.places.other_tanks[p] + brought))


def dump_written(made: Made, p: int, over: list[int]) -> Written:
    tankers, places, operation = made.tankers, made.places, made.operation
    unload = {}
    for i in np.flatnonzero(places.counted[p]):
        rate = tankers.dump_gpm[i]
        rate = tankers.release_gpm[i] if np.isnan(rate) else rate
        if rate > 0:
            unload[i] = operation.dump_handling_min + tankers.usable_gal[i] / rate
    cap = (float(places.line_gpm[p]), int(places.line_bound[p]))
    return Written(made, p, unload, over, positions=dump_positions(made, p), cap=cap)


def dump_site_gpm(made: Made, p: int) -> float:
    places = made.places
    if places.engines[p] < 2 or dump_positions(made, p) == 0 or places.line_gpm[p] == 0:
        return 0.0
    sets = _sets(made, p, int(places.engines[p]) - 2)
    return max(dump_written(made, p, over).flow() for over in sets)


def nurse_written(made: Made, p: int, over: list[int], flow: float) -> Written:
    places, operation = made.places, made.operation
    unload, cap = {}, (operation.nurse_limit_gpm, 4)
    for i in np.flatnonzero(places.counted[p]):
        rate, load = places.pump_off_gpm[p, i], made.tankers.usable_gal[i]
        if rate >= flow:
            pump = max(load / rate, (load - operation.nurse_buffer_gal) / flow)
            unload[i] = operation.nurse_handling_min + pump
            cap = min(cap, (float(rate), int(places.pump_off_bound[p, i])))
    return Written(made, p, unload, over, positions=np.inf, cap=cap)


def nurse_gpm(made: Made, p: int) -> float:
    """Return the largest flow that is held, by halving."""
    if made.places.engines[p] < 1:
        return 0.0
    sets = _sets(made, p, int(made.places.engines[p]) - 1)

    def held(flow: float) -> bool:
        return any(nurse_written(made, p, over, flow).flow() >= flow * (1 - 1e-9) for over in sets)

    low, high = 0.0, made.operation.nurse_limit_gpm
    if held(high):
        return high
    for _ in range(36):
        middle = (low + high) / 2
        low, high = (middle, high) if held(middle) else (low, middle)
    return low


def _more_engines(made: Made) -> Made:
    return made.with_places(engines=made.places.engines + 1)


def word_code(made: Made, p: int) -> int:
    """Return the code of what holds a flow above 0 down, by the rule written out again."""
    nurse, dump = nurse_gpm(made, p), dump_site_gpm(made, p)
    flow = max(nurse, dump)
    more = _more_engines(made)
    if max(nurse_gpm(more, p), dump_site_gpm(more, p)) >= 1.1 * flow * (1 - 1e-8):
        return 8
    engines = int(made.places.engines[p])
    if nurse >= dump * (1 - 1e-8):
        best = max(
            (
                nurse_written(made, p, over, nurse * (1 - 1e-9))
                for over in _sets(made, p, engines - 1)
            ),
            key=Written.flow,
        )
    else:
        sets = _sets(made, p, engines - 2)
        best = max((dump_written(made, p, over) for over in sets), key=Written.flow)
    shares = best.shares()
    code = int(np.argmax(shares >= shares.max() - 1e-3 * shares.sum()))
    x = linprog(-best.gain(), best.matrix(), best.limits(), options=TIGHT).x
    trip = sum(share * best.trip[cell] for share, cell in zip(x, best.cells, strict=True))
    legs = sum(share * best.legs[cell] for share, cell in zip(x, best.cells, strict=True))
    return 7 if code == 0 and legs > trip / 2 else code
