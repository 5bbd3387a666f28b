"""A mix by absolute volume: what it yields, how much fibre is in it, and what to weigh for a pour.

Every ingredient takes up weight/(specific gravity · 62.4 lb/ft3); trapped air comes on top. The liquid of a polymer
dispersion is part water, and counts in water to cement.
"""

from dataclasses import dataclass, field

WATER_PCF = 62.4

# Specific gravities usual in the trade (from memory; a bag's own data sheet goes before them).
SPECIFIC_GRAVITY = {
    "water": 1.0, "portland": 3.15, "csa": 2.90, "sand": 2.65, "pozzolan": 2.60, "fibre": 2.68, "polymer": 1.05}
CEMENTITIOUS = ("cement", "pozzolan")
KINDS = (*CEMENTITIOUS, "sand", "water", "polymer", "fibre", "admixture")


@dataclass(frozen=True)
class Ingredient:
    """One thing that is weighed. `solids`: share of a polymer or admixture that is not water. `tolerance`: ± share."""

    name: str
    kind: str                     # one of KINDS
    weight_lb: float              # in the batch as the recipe has it
    specific_gravity: float
    solids: float = 1.0
    tolerance: float = 0.01

    @property
    def solid_volume_ft3(self) -> float:
        return self.weight_lb / (self.specific_gravity * WATER_PCF)


@dataclass(frozen=True)
class Mix:
    """A recipe. `air`: share of the finished volume that is trapped air, 5 to 12 % for polymer premix (from memory)."""

    ingredients: tuple[Ingredient, ...]
    air: float = 0.0

    def __post_init__(self) -> None:
        if not self.ingredients or not 0.0 <= self.air < 0.5:
            raise ValueError("a mix has ingredients, and air of less than half its volume")
        for part in self.ingredients:
            if part.kind not in KINDS:
                raise ValueError(f"{part.name}: {part.kind} should be one of {', '.join(KINDS)}")
            if not (part.weight_lb > 0 and 0.5 <= part.specific_gravity <= 8.0 and 0.0 <= part.solids <= 1.0
                    and 0.0 <= part.tolerance < 1.0):
                raise ValueError(f"{part.name}: weight, specific gravity, solids or tolerance cannot be right")

    def weight_of(self, *kinds: str) -> float:
        return sum(part.weight_lb for part in self.ingredients if part.kind in kinds)

    @property
    def weight_lb(self) -> float:
        return sum(part.weight_lb for part in self.ingredients)

    @property
    def volume_ft3(self) -> float:
        """What the batch fills, trapped air and all."""
        return sum(part.solid_volume_ft3 for part in self.ingredients) / (1.0 - self.air)

    @property
    def unit_weight_pcf(self) -> float:
        return self.weight_lb / self.volume_ft3

    @property
    def fibre_share(self) -> float:
        """Weight of fibre over the weight of all."""
        return self.weight_of("fibre") / self.weight_lb

    @property
    def fibre_volume_share(self) -> float:
        """Volume of fibre over the finished volume."""
        return sum(part.solid_volume_ft3 for part in self.ingredients if part.kind == "fibre") / self.volume_ft3

    @property
    def total_water_lb(self) -> float:
        """Water as weighed, and the water in polymer and admixtures: W + W_poly (1 − solids)."""
        return self.weight_of("water") + sum(
            part.weight_lb * (1.0 - part.solids) for part in self.ingredients if part.kind in ("polymer", "admixture"))

    @property
    def water_to_cementitious(self) -> float | None:
        binder = self.weight_of(*CEMENTITIOUS)
        return self.total_water_lb / binder if binder else None

    @property
    def sand_to_binder(self) -> float | None:
        binder = self.weight_of(*CEMENTITIOUS)
        return self.weight_of("sand") / binder if binder else None

    @property
    def polymer_solids_share(self) -> float | None:
        """Polymer solids by weight of cement and pozzolan."""
        binder = self.weight_of(*CEMENTITIOUS)
        solids = sum(part.weight_lb * part.solids for part in self.ingredients if part.kind == "polymer")
        return solids / binder if binder else None


@dataclass(frozen=True)
class Weighing:
    """What the scale should show for one ingredient, and between what."""

    name: str
    target_lb: float
    least_lb: float
    most_lb: float

    def holds(self, weighed_lb: float) -> bool:
        return self.least_lb <= weighed_lb <= self.most_lb


@dataclass(frozen=True)
class PourBatch:
    volume_ft3: float             # poured, the waste allowance in it
    weighings: tuple[Weighing, ...] = field(default_factory=tuple)

    @property
    def weight_lb(self) -> float:
        return sum(weighing.target_lb for weighing in self.weighings)


def batch_for(mix: Mix, volume_ft3: float, waste: float = 0.10) -> PourBatch:
    """What to weigh for a pour of `volume_ft3` in the form, and `waste` (share of it) more for bucket and tests."""
    if not (0.0 < volume_ft3 < 1e4 and 0.0 <= waste <= 1.0):
        raise ValueError("a pour has a volume, and a waste allowance of 0 to 1")
    poured = volume_ft3 * (1.0 + waste)
    scale = poured / mix.volume_ft3
    return PourBatch(poured, tuple(_weighing(part, scale) for part in mix.ingredients))


def _weighing(part: Ingredient, scale: float) -> Weighing:
    target = part.weight_lb * scale
    return Weighing(part.name, target, target * (1.0 - part.tolerance), target * (1.0 + part.tolerance))
