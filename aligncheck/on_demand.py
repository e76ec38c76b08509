"""Names of a package that are loaded when first asked for, so that no command loads stages that it does not reach."""

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def on_demand(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """A package's ``__getattr__`` (PEP 562).

    Parameters
    ----------
    package : str
        Its ``__name__``.
    homes : mapping of str to str
        Public names and the module of the package that holds each.
    """

    def load(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(f"{package}.{homes[name]}"), name)

    return load
