"""Reading one object of a document, key by key, noting every fault with its path and going on.

A value that is refused reads as None: whoever goes on with it asks `known(...)` first. One slip, one fault.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from engineering.core.contract.refusal import Faults, child, shown
from engineering.core.contract.values import (
    ANY,
    LONGEST_TEXT,
    Range,
    known,
    plain_number,
    quantity_words,
    read_list,
    read_number,
    read_point,
    read_text,
)


class Required:
    """Stands where a default would, for a key that must be given."""


REQUIRED = Required()


class Keys:
    """One object of the document at `path`. `places` gives the path of a key that came from elsewhere (`like`)."""

    def __init__(
        self,
        values: Mapping[Any, Any],
        path: str,
        units: str,
        faults: Faults,
        places: Mapping[str, str] | None = None,
        missing_at: str | None = None,
    ):
        self.values, self.path, self.units, self.faults = values, path, units, faults
        self.places = places or {}
        self._missing_at = path if missing_at is None else missing_at  # whose fault a missing key is
        self._asked: set[str] = set()

    def place(self, key: str) -> str:
        """Path of a key that is known here: a plain word, whatever the document's own keys are."""
        if key in self.places:
            return self.places[key]
        return f"{self.path}.{key}" if self.path else key

    def fault(self, key: str, message: str) -> None:
        self.faults.add(self.place(key), message)

    def missing(self, key: str, message: str) -> None:
        self.faults.add(child(self._missing_at, key), message)

    def has(self, key: str) -> bool:
        return key in self.values

    def close(self) -> None:
        """Refuse every key that was not asked for."""
        if self._asked.issuperset(self.values):
            return
        for key in self.values:
            if key not in self._asked:
                where = self.places.get(key, child(self.path, key if isinstance(key, str) else repr(key)))
                self.faults.add(where, f"unknown key; known here: {', '.join(sorted(self._asked))}")

    def raw(self, key: str, what: str, default: Any = REQUIRED) -> tuple[bool, Any]:
        """(there, value). A key that is missing and required is a fault."""
        self._asked.add(key)
        if key in self.values:
            return True, self.values[key]
        if default is REQUIRED:
            self.missing(key, f"missing; it should be {what}")
        return False, None

    # ---- plain kinds -----------------------------------------------------------------------------------------------

    def number(self, key: str, quantity: str = "number", default: Any = REQUIRED, within: Range = ANY) -> Any:
        self._asked.add(key)
        if key not in self.values:
            if default is not REQUIRED:
                return default
            self.missing(key, f"missing; it should be {quantity_words(quantity, self.units)}")
            return None
        value = self.values[key]
        number = plain_number(value, quantity, within, self.units)
        if number is not None:
            return number
        return read_number(value, self.place(key), quantity, within, self.units, self.faults)

    def text(self, key: str, default: Any = REQUIRED, longest: int = LONGEST_TEXT) -> str | None:
        there, value = self.raw(key, "text", default)
        if not there:
            return None if isinstance(default, Required) else default
        return read_text(value, self.place(key), self.faults, longest)

    def choice(self, key: str, options: Sequence[str], default: Any = REQUIRED) -> str | None:
        if isinstance(value := self.values.get(key), str) and value in options:
            self._asked.add(key)
            return value
        what = "one of " + ", ".join(options) if len(options) > 1 else f'"{options[0]}"'
        there, value = self.raw(key, what, default)
        if not there:
            return None if isinstance(default, Required) else default
        self.fault(key, f"{shown(value)} should be {what}")
        return None

    def flag(self, key: str, default: bool) -> bool | None:
        there, value = self.raw(key, "true or false", default)
        if not there:
            return default
        if isinstance(value, bool):
            return value
        self.fault(key, f"{shown(value)} should be true or false")
        return None

    # ---- objects and lists -----------------------------------------------------------------------------------------

    def object(self, key: str, default: Any = REQUIRED) -> "Keys | None":
        """The object under `key`; an empty one where it may be left out and is (default not REQUIRED and not None)."""
        there, value = self.raw(key, "an object", default)
        if not there:
            return None if isinstance(default, Required) or default is None else self.below({}, key)
        if isinstance(value, (dict, Mapping)):  # a dict is told at once, any other mapping by the abstract class
            return self.below(value, key)
        self.fault(key, f"{shown(value)} should be an object")
        return None

    def below(self, values: Mapping[Any, Any], key: str) -> "Keys":
        return Keys(values, self.place(key), self.units, self.faults)

    def items(self, key: str, what: str, least: int, most: int, default: Any = REQUIRED) -> list[Any] | None:
        there, value = self.raw(key, f"a list of {what}", default)
        if not there:
            return None if isinstance(default, Required) else default
        return read_list(value, self.place(key), what, least, most, self.faults)

    def objects(
        self, key: str, what: str, least: int, most: int, default: Any = REQUIRED
    ) -> "list[Keys | None] | None":
        """One Keys for each object of a list; None for an element that is no object."""
        values = self.items(key, what, least, most, default)
        if values is None:
            return None
        found: list[Keys | None] = []
        place = self.place(key)
        for index, value in enumerate(values):
            path = f"{place}[{index}]"
            if isinstance(value, (dict, Mapping)):
                found.append(Keys(value, path, self.units, self.faults))
            else:
                self.faults.add(path, f"{shown(value)} should be an object")
                found.append(None)
        return found

    def numbers(
        self, key: str, quantity: str, what: str, least: int, most: int, within: Range = ANY, default: Any = REQUIRED
    ) -> list[float] | None:
        """A list of numbers; None where any of them is refused."""
        values = self.items(key, what, least, most, default)
        if values is None or values is default:
            return values
        numbers = [plain_number(value, quantity, within, self.units) for value in values]
        if not known(*numbers):
            path = self.place(key)
            numbers = [
                read_number(value, f"{path}[{i}]", quantity, within, self.units, self.faults)
                for i, value in enumerate(values)
            ]
        return [n for n in numbers if n is not None] if known(*numbers) else None

    def points(self, key: str, what: str, least: int, most: int) -> list[tuple[float, float] | None] | None:
        """A list of pairs of lengths [in]; None for a pair that is refused."""
        values = self.items(key, what, least, most)
        if values is None:
            return None
        path = self.place(key)
        return [read_point(value, f"{path}[{i}]", self.units, self.faults) for i, value in enumerate(values)]
