"""Drill logs for tests: written line by line, or played by a loop with constant times."""

import heapq
from dataclasses import dataclass
from pathlib import Path

HEAD = "unit_id,event,time,site_id,load_gal,leg_miles\n"


def log_file(folder: Path, *lines: str, head: str = HEAD) -> Path:
    """Write a log of these lines."""
    path = folder / "log.csv"
    path.write_text(head + "".join(f"{line}\n" for line in lines), encoding="utf-8")
    return path


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """Constant times of a loop [min]; half of each handling before the water, half after."""

    load_gal: float = 1800.0
    fill_handling: float = 3.0
    filling: float = 2.0
    dump_handling: float = 2.0
    dumping: float = 1.5
    loaded: float = 5.0
    empty: float = 4.0
    fill_positions: int = 1
    dump_positions: int = 1


def played(units: int, rounds: int, times: Times) -> list[str]:
    """Return the log of like tankers that arrive at the dump site a minute apart, full."""
    free = {"fill": [0.0] * times.fill_positions, "dump": [0.0] * times.dump_positions}
    queue = [(float(unit), unit, "dump", 0) for unit in range(units)]
    lines: list[tuple[float, int, str]] = []
    while queue:
        arrives, unit, place, number = heapq.heappop(queue)
        handling = times.fill_handling if place == "fill" else times.dump_handling
        flowing = times.filling if place == "fill" else times.dumping
        begins = max(arrives, heapq.heappop(free[place]))
        starts = begins + handling / 2
        leaves = starts + flowing + handling / 2
        heapq.heappush(free[place], leaves)
        site = "S" if place == "fill" else ""
        load = times.load_gal
        for at, act, gallons in (
            (arrives, "arrive", ""), (starts, "start", ""), (starts + flowing, "end", load),
            (leaves, "leave", ""),
        ):  # fmt: skip
            lines.append((at, unit, f"T-{unit},{act}_{place},{at!r},{site},{gallons},"))
        leg = times.empty if place == "dump" else times.loaded
        if number < 2 * rounds:
            after = "fill" if place == "dump" else "dump"
            heapq.heappush(queue, (leaves + leg, unit, after, number + 1))
    return [line for _, _, line in sorted(lines, key=lambda one: one[0])]
