"""A row's place from columns of cells: lat and lon, x and y in a system of their own, or text."""

from collections.abc import Collection, Mapping, Sequence

from haulshed.tables.table import Column, Kind

LAT = Column(
    name="lat",
    kind=Kind.NUMBER,
    required=True,
    meaning="degrees north (WGS 84)",
)
LON = Column(name="lon", kind=Kind.NUMBER, required=True, meaning="degrees east (WGS 84)")
X = Column(name="x", kind=Kind.NUMBER, required=True, meaning="easting in the section's crs")
Y = Column(name="y", kind=Kind.NUMBER, required=True, meaning="northing in the section's crs")
WKT = Column(
    name="wkt",
    kind=Kind.GEOMETRY,
    meaning="well-known text in the section's crs, such as POINT (3 4)",
)

Form = tuple[Column, ...]
DEGREES: Form = (LAT, LON)
XY: Form = (X, Y)
TEXT: Form = (WKT,)
FORMS = (DEGREES, XY, TEXT)


def forms_of(
    headers: Collection[str], named: Mapping[str, str], ignored: Collection[str]
) -> Sequence[Form]:
    """
    Return the ways in which a file writes its places; more than one is the user's to settle.

    A way that the user's own mapping names wins over headers that happen to be there. Where there
    is none, latitude and longitude are what is missed.

    Examples
    --------
    >>> [one.name for form in forms_of(["pin", "x", "y"], {}, ()) for one in form]
    ['x', 'y']
    >>> [one.name for form in forms_of(["pin", "X", "Y"], {"wkt": "pin"}, ()) for one in form]
    ['wkt']
    """
    by_name = [form for form in FORMS if all(column.name in named for column in form)]
    if by_name:
        return by_name
    # A header that differs by case alone is a slip, and is called one when headers are matched.
    free = {header.casefold() for header in headers if header not in ignored} | named.keys()
    return [form for form in FORMS if all(column.name in free for column in form)] or [DEGREES]
