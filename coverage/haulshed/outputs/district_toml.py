"""The text of a new district's ``district.toml``: what is set, and what may be."""

import json
import textwrap
from collections.abc import Mapping
from string import Template

from haulshed.case import CAUTION
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.pond_candidates import POND_CANDIDATES
from haulshed.tables.table import shown

_WIDTH = 98

_TEXT = Template("""\
# $title
# Made from OpenStreetMap data (© OpenStreetMap contributors, ODbL). It is yours now: edit this
# file, and the tables beside it with a spreadsheet (save as CSV UTF-8). `haulshed columns` explains
# every column and every key, with its default and where the default comes from.
#
# Then: haulshed check FOLDER   until nothing is wrong and you know of every doubt
#       haulshed run FOLDER     for the flow at every parcel, and the map
#
$caution

[district]
name = $name
boundary = $boundary    # $outline
units = "us"                      # of the outputs: us or si
# crs = "auto"                    # a projected system in metres; auto is the UTM zone

[roads]
file = $roads
# max_mph = 45                    # no tanker drives faster; drive a loaded one and see
# unpaved_factor = 0.75           # speed on unpaved road, as a share

[parcels]
file = $parcels
$parcel_keys
# Floor area, height and the distance between buildings come from their footprints in the map.
buildings = $roads

[buildings]
complete = false                  # maps have gaps: a parcel without a building may have one

# Columns that end in _source say where the figure beside them comes from: osm (mapped), default (a
# stated default that nobody measured), given (yours). Write given once you have measured it.
[fill_sites]
file = "fill_sites.csv"
ignore = $ignored   # of candidates

# pond_candidates.csv lists water beside a road. No run uses it: look at each, sound it in a dry
# summer, and copy the row into fill_sites.csv if a tanker can fill there.

# aid: own and automatic are called; mutual only where [operation] aid says so.
[stations]
file = "stations.csv"

# One engine and one tanker a station stand in for yours (unit_source default): put in your own.
[apparatus]
file = "apparatus.csv"

[operation]
# duration_min = 120              # how long the flow is to be held
# assembly_min = 30               # a unit that comes later does not count
# fill_handling_min = 2.5         # time your drills
# dump_handling_min = 1.5

[demand]
# method = "volume"               # or dwelling_spacing, fixed, column

# A scenario changes any key: haulshed run FOLDER --scenario all_aid
[scenario.all_aid.operation]
aid = ["own", "automatic", "mutual"]
""")

_OF_BUILDINGS = """\
ignore = ["address"]              # the address as mapped, for you to find the parcel by
# One parcel a mapped building, or an address without one. Better: the county's parcels,
# file = "…" and columns = { parcel_id = "their header", floor_area_ft2 = "their header" }"""
_OF_A_FILE = """\
# columns = { parcel_id = "their header", floor_area_ft2 = "their header" }   # ours = theirs"""


#: Columns of pond_candidates.csv that a fill site has none of.
_OF_SITES = {column.name for column in FILL_SITES.columns}
_OF_CANDIDATES = [column.name for column in POND_CANDIDATES.columns if column.name not in _OF_SITES]


def district_toml(*, name: str, outline: str, files: Mapping[str, str], own_parcels: bool) -> str:
    """
    Return the text.

    Parameters
    ----------
    name
        Of the district.
    outline
        How the outline was found.
    files
        File name of the `boundary`, the `roads` and the `parcels`.
    own_parcels
        Whether the parcels come from the user's own file.
    """
    return _TEXT.substitute(
        title=f"{shown(name)}: a district for haulshed.",
        caution=textwrap.fill(CAUTION, _WIDTH, initial_indent="# ", subsequent_indent="# "),
        name=_quoted(name),
        ignored=json.dumps(_OF_CANDIDATES),
        outline=shown(outline),
        boundary=_quoted(files["boundary"]),
        roads=_quoted(files["roads"]),
        parcels=_quoted(files["parcels"]),
        parcel_keys=_OF_A_FILE if own_parcels else _OF_BUILDINGS,
    )


def _quoted(text: str) -> str:
    r"""
    Return a text as a TOML string: JSON's, which leaves only one character that TOML does not take.

    Examples
    --------
    >>> _quoted('the "Hill"\x7f')
    '"the \\"Hill\\"\\u007f"'
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
