"""Some parcels of a district, by their ids."""

from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches

from haulshed.case import Inputs
from haulshed.errors import InputError
from haulshed.tables.parcels import Parcels

#: Parcel ids that a message proposes.
_NEAR_IDS = 3


def only(inputs: Inputs, parcel_ids: Sequence[str]) -> Inputs:
    """
    Return the inputs with these parcels alone, in the order asked for, none of them twice.

    Raises
    ------
    InputError
        If there is no such parcel; all of those are named, with near ones.
    """
    row_of = {parcel_id: row for row, parcel_id in enumerate(inputs.parcels["parcel_id"])}
    asked = list(dict.fromkeys(parcel_ids))
    unknown = [parcel_id for parcel_id in asked if parcel_id not in row_of]
    if unknown:
        raise InputError("\n".join(_not_there(one, list(row_of)) for one in unknown))
    rows = [row_of[parcel_id] for parcel_id in asked]
    return replace(inputs, parcels=Parcels(inputs.parcels.iloc[rows].reset_index(drop=True)))


def _not_there(parcel_id: str, ids: Sequence[str]) -> str:
    near = get_close_matches(parcel_id, ids, n=_NEAR_IDS)
    first = f"The first one is {ids[0]}." if ids else "The table is empty."
    hint = f"Near ones: {', '.join(near)}." if near else first
    return f"parcels: there is no parcel '{parcel_id}'. {hint}"
