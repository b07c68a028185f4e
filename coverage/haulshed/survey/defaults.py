"""What stands in a new district's tables where the map says nothing: each with its source."""

from types import MappingProxyType

from haulshed.tables.fill_sites import SiteKind

#: Flow of a hydrant that nobody tested [gpm]: the least that ISO credits (Alternative Water
#: Supplies: 250 gpm for 2 hours). Most give more; the ones that do not are the ones that hurt.
HYDRANT_GPM = 250.0
#: Flow of a stream in a drought [gpm]: as above.
STREAM_GPM = 250.0
#: Flow where an engine drafts [gpm]: 70 % of 750 gpm, the least engine that ISO counts for class 8
#: or better, at 15 ft of lift (IFSTA ch. 11), rounded down.
DRAFT_GPM = 500.0
#: Water in a pond or at a suction point of which nothing is known [gal]: 250 gpm for 2 hours (NRCS,
#: practice 432).
POND_GAL = 30_000.0
#: Water in a tank of which nothing is known [gal]. Assumption of this project.
CISTERN_GAL = 10_000.0
#: Depth of a pond that can be drawn off over its whole surface [ft]. Assumption of this project;
#: the inlet of a dry hydrant stands 3 ft or more below the normal pool (Carolina Fire Journal).
POND_DRAW_FT = 2.0

FLOW_GPM = MappingProxyType(
    {
        SiteKind.HYDRANT: HYDRANT_GPM,
        SiteKind.STREAM: STREAM_GPM,
        SiteKind.POND: DRAFT_GPM,
        SiteKind.DRY_HYDRANT: DRAFT_GPM,
        SiteKind.CISTERN: DRAFT_GPM,
    }
)
VOLUME_GAL = MappingProxyType(
    {
        SiteKind.POND: POND_GAL,
        SiteKind.DRY_HYDRANT: POND_GAL,
        SiteKind.CISTERN: CISTERN_GAL,
    }
)

#: Water nearer to a suction point than this is what it draws from [ft]. Assumption of this project.
SAME_WATER_FT = 100.0
#: Water farther than this from every road is no candidate [ft]: the scenario's site_snap_ft.
CANDIDATE_ROAD_FT = 200.0
#: Water with less than this to draw is no candidate [gal] (NRCS, practice 432, as above).
CANDIDATE_GAL = POND_GAL

#: One engine and one tanker a station. Common practice, no source; the tanker's tank is typical
#: (IFSTA ch. 14), it fills and dumps at 1,000 gpm (NFPA 1903), its portable tank is 1.4 times its
#: own or more (NFPA 1901, value from memory).
ENGINE = MappingProxyType(
    {
        "kind": "engine",
        "tank_gal": 750.0,
        "fill_gpm": 1000.0,
        "pump_gpm": 1000.0,
        "supply_hose_ft": 1000.0,
        "supply_hose_in": 4.0,
        "crew": 4,
    }
)
TANKER = MappingProxyType(
    {
        "kind": "tanker",
        "tank_gal": 2000.0,
        "fill_gpm": 1000.0,
        "dump_gpm": 1000.0,
        "pump_gpm": 500.0,
        "portable_tank_gal": 3000.0,
        "crew": 2,
    }
)
