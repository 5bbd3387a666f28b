"""Stressing, installation, environment, handling and criteria, and the order in time that they must keep."""

from typing import Any

from engineering.core.contract.materials import FLEXURAL, STRENGTH, scaled_by_strength
from engineering.core.contract.piece import Concrete, Criteria, Environment, Handling, Stressing
from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import shown
from engineering.core.contract.situation import refuse_off_piece
from engineering.core.contract.units import DAYS_PER_YEAR, format_quantity
from engineering.core.contract.values import NOT_NEGATIVE, POSITIVE, SHARE, Range, known, read_text

SCATTER = {"torque": 0.25, "elongation": 0.07, "jack": 0.05}
EXPOSURES = ("interior-dry", "interior-wet", "exterior", "chloride")
DEFAULT_NUT_FACTOR = 0.20
DEFAULT_STEPS = (0.25, 0.5, 0.75, 1.0)
MOST_STEPS, MOST_RESTRESS = 40, 20
_AGE = Range(least=1 / 24)  # nothing is handled or stressed within the hour
_RATIO = Range(least=1.0, most=1e6)
_NUT_FACTOR, _SCATTER, _STEP = Range(least=0.01, most=2.0), Range(least=0.0, below=1.0), Range(above=0.0, most=1.0)
_HUMIDITY, _DRYING = Range(least=0.0, most=100.0), Range(least=-0.05, most=0.05)
_MULTIPLIER, _UPLIFT = Range(above=0.0, most=10.0), Range(above=0.0, most=1e3)


def read_stressing(keys: Keys) -> Stressing | None:
    """All but `order`, which waits for the rods' marks; the caller closes the keys after reading it."""
    age = keys.number("age", "age", within=_AGE)
    method = keys.choice("method", tuple(SCATTER))
    nut_factor = keys.number("nut_factor", default=DEFAULT_NUT_FACTOR, within=_NUT_FACTOR)
    scatter = keys.number("scatter", default=SCATTER.get(method or "", 0.0), within=_SCATTER)
    seating = keys.number("seating", "length", default=0.0, within=NOT_NEGATIVE)
    steps = _steps(keys)
    restress = _restress(keys, age)
    values: tuple[Any, ...] = (age, method, nut_factor, scatter, seating, steps, (), restress)
    return Stressing(*values) if known(*values) else None


def _steps(keys: Keys) -> tuple[float, ...] | None:
    steps = keys.numbers("steps", "number", "steps", 1, MOST_STEPS, _STEP, default=list(DEFAULT_STEPS))
    if steps is None:
        return None
    path, fine = keys.place("steps"), True
    for i in range(1, len(steps)):
        if steps[i] <= steps[i - 1]:
            keys.faults.add(
                f"{path}[{i}]", f"{shown(steps[i])} should be more than the step before, {shown(steps[i - 1])}"
            )
            fine = False
    if steps[-1] != 1.0 and fine:
        keys.faults.add(
            f"{path}[{len(steps) - 1}]", f"{shown(steps[-1])} should be 1: the last step brings the whole force"
        )
        fine = False
    return tuple(steps) if fine else None


def _restress(keys: Keys, age: float | None) -> tuple[float, ...] | None:
    ages = keys.numbers("restress", "age", "ages", 0, MOST_RESTRESS, POSITIVE, default=[])
    if ages is None:
        return None
    path, fine, before = keys.place("restress"), True, age
    for i, later in enumerate(ages):
        if before is not None and later <= before:
            what = "the restress before" if i else "the stressing"
            keys.faults.add(
                f"{path}[{i}]",
                f"{_days(later)} should be after {what}, {_days(before)}",
            )
            fine = False
        before = later
    return tuple(ages) if fine else None


def read_order(keys: Keys, marks: list[str] | None) -> tuple[str, ...] | None:
    """Every rod once; as listed where the document is silent. `marks` None: some rod has none, so only kinds count."""
    order = keys.items("order", "rods' marks", 0, 1000, default=marks or [])
    if order is None:
        return None
    path, seen = keys.place("order"), set[str]()
    for i, value in enumerate(order):
        name = read_text(value, f"{path}[{i}]", keys.faults)
        if name is None or marks is None:
            continue
        if name not in marks:
            keys.faults.add(f"{path}[{i}]", f"{shown(name)} should be the mark of a rod")
        elif name in seen and keys.has("order"):
            keys.faults.add(f"{path}[{i}]", f"{shown(name)} comes twice; every rod comes once")
        seen.add(name)
    missing = [mark for mark in marks or [] if mark not in seen]
    if missing:
        keys.faults.add(path, f"should name every rod once; {', '.join(map(shown, missing))} missing")
    return tuple(order)


def read_installation(document: Keys, stressing: Stressing | None) -> float | None:
    keys = document.object("installation", default={})
    if keys is None:
        return None
    usual = max(28.0, stressing.age_days) if stressing else 28.0
    age = keys.number("age", "age", default=usual, within=_AGE)
    keys.close()
    return age


def read_environment(document: Keys) -> Environment | None:
    keys = document.object("environment", default={})
    if keys is None:
        return None
    humidity = keys.number("humidity", default=50.0, within=_HUMIDITY)
    exposure = keys.choice("exposure", EXPOSURES, default=EXPOSURES[0])
    difference = keys.number("drying_difference", default=0.0, within=_DRYING)
    keys.close()
    return (
        Environment(humidity, exposure, difference) if humidity is not None and exposure and known(difference) else None
    )


def read_handling(document: Keys, length: float | None, concrete: Concrete | None) -> Handling | None:
    keys = document.object("handling", default=None)
    if keys is None:
        return None
    points = keys.numbers("lift_points", "length", "lift points", 2, 2)
    age = keys.number("age", "age", within=_AGE)
    strength = keys.number("strength", "stress", within=STRENGTH)
    usual = None
    if concrete and strength is not None:
        usual = scaled_by_strength(concrete.flexural_yield_psi, strength, concrete.strength_psi)
    flexural = keys.number("flexural_yield", "stress", default=usual, within=FLEXURAL)
    multiplier = keys.number("multiplier", default=1.5, within=_MULTIPLIER)
    stressed = keys.flag("stressed", False)
    keys.close()
    if points and not _lift_points_stand(keys, points, length):
        return None
    if points is None or stressed is None or not known(age, strength, flexural, multiplier):
        return None
    return Handling(
        (min(points), max(points)), age, strength, flexural, not keys.has("flexural_yield"), multiplier, stressed
    )


def _lift_points_stand(keys: Keys, points: list[float], length: float | None) -> bool:
    path = keys.place("lift_points")
    for i, x in enumerate(points):
        each = Keys({}, path, keys.units, keys.faults, {"point": f"{path}[{i}]"})
        if refuse_off_piece(each, "point", x, length):
            return False
    if abs(points[1] - points[0]) < 0.01:
        keys.faults.add(f"{path}[1]", "should be another place than the first lift point")
        return False
    return True


def read_criteria(document: Keys) -> Criteria | None:
    keys = document.object("criteria", default={})
    if keys is None:
        return None
    values: list[Any] = [
        keys.number("live_deflection", default=360.0, within=_RATIO),
        keys.number("long_deflection", default=240.0, within=_RATIO),
        keys.number("life", "life", default=30.0, within=POSITIVE),
        keys.number("uplift_factor", default=1.5, within=_UPLIFT),
        keys.number("cover", "length", default=0.375, within=NOT_NEGATIVE),
        keys.number("remaining", default=0.5, within=SHARE),
        keys.number("crown", default=240.0, within=_RATIO),
    ]
    stresses = {
        key: keys.number(key, "stress", default=None, within=NOT_NEGATIVE)
        for key in ("transfer_tension", "sustained_tension", "service_tension", "bursting")
    }
    pressure = keys.number("support_pressure", "stress", default=None, within=POSITIVE)
    tolerance = keys.number("support_tolerance", "length", default=0.0, within=NOT_NEGATIVE)
    keys.close()
    if not known(*values, tolerance):
        return None
    values += [*stresses.values(), pressure, tolerance]
    return Criteria(*values)


def refuse_out_of_turn(
    document: Keys,
    stressing: Stressing | None,
    installation: float | None,
    handling: Handling | None,
    criteria: Criteria | None,
) -> None:
    """Ages that cannot follow one another: installed before stressed, handled tight too early, a life too short."""
    if stressing and installation is not None and installation < stressing.age_days:
        said = f"{_days(installation)} should not be before the stressing, {_days(stressing.age_days)}"
        document.faults.add("installation.age", said)
    if stressing and handling and handling.stressed and handling.age_days < stressing.age_days:
        said = f"at {_days(handling.age_days)} no rod is tight yet: they are stressed at {_days(stressing.age_days)}"
        document.faults.add("handling.stressed", said)
    if criteria:
        _refuse_short_life(document, stressing, installation, criteria)


def _refuse_short_life(
    document: Keys, stressing: Stressing | None, installation: float | None, criteria: Criteria
) -> None:
    end = criteria.life_years * DAYS_PER_YEAR
    for i, age in enumerate(stressing.restress_days if stressing else ()):
        if age >= end:
            said = f"{_days(age)} should be before the end of the piece's life, {_days(end)}"
            document.faults.add(f"stressing.restress[{i}]", said)
    begins = max(installation or 0.0, stressing.age_days if stressing else 0.0)
    if end <= begins:
        blamed = "criteria.life" if "criteria" in document.values else "installation.age"
        said = f"the life ends at {_days(end)}; it should end after the installation, {_days(begins)}"
        document.faults.add(blamed, said)


def _days(age: float) -> str:
    return format_quantity(age, "age", "us")
