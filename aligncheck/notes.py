"""A remark that travels with a value: something the painter should know, but no reason to refuse."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from aligncheck.sentences import phrase


@dataclass(frozen=True)
class Note:
    """A remark with a fixed `code` and the `values` its sentence is filled in with."""

    code: str
    values: Mapping[str, object] = field(default_factory=dict)

    @property
    def text(self) -> str:
        """The remark as one plain sentence."""
        return phrase(self.code, self.values)
