"""Hold what every table of a plan has in common."""

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of the plan file: frozen, and an unknown key is a fault."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)
