"""How a scenario key is declared: its default, what it means, and where the default comes from."""

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

#: Source of a default that is common practice with no publication behind it.
PRACTICE = "common practice, no source"
#: Source of a default that this project assumes until drills say otherwise.
ASSUMED = "assumption of this project, to be calibrated by drills"


class Section(BaseModel):
    """A frozen section of the scenario; a key that it does not know is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


def key(  # the types are those of pydantic's own Field
    default: Any,  # noqa: ANN401
    meaning: str,
    source: str,
    **bounds: Any,  # noqa: ANN401
) -> Any:  # noqa: ANN401
    """Declare a key: its `default`, `meaning`, the default's `source`, `bounds` as pydantic's."""
    return Field(default, description=meaning, json_schema_extra={"source": source}, **bounds)
