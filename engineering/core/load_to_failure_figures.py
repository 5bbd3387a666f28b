"""The figures and the curve of the load-to-failure analysis."""

from engineering.core.contract.results import Figure, Series
from engineering.core.load_to_failure import LoadTest


def load_test_figures(test: LoadTest) -> tuple[dict[str, Figure], dict[str, Series]]:
    """`load_test.*` figures, and the curve where it was calculated."""

    def figure(name: str, value: float | str | None, quantity: str, at: float | None = None) -> Figure:
        return Figure(
            value, quantity if value is not None or quantity != "number" else "number", at, test.why.get(name, "")
        )

    found = {
        "load_test.first_crack": figure("first_crack", test.first_crack_lbf, "force", test.crack_at_in),
        "load_test.peak": figure("peak", test.peak_lbf, "force"),
        "load_test.yield": figure("yield", test.yield_lbf, "force"),
        "load_test.mode": figure("mode", test.mode, "number"),
        "load_test.shear_bound": figure("shear_bound", test.shear_bound_lbf, "force"),
        "load_test.crown_left_at_service": figure("crown_left_at_service", test.crown_at_service_in, "length"),
    }
    curve = Series([p.deflection_in for p in test.curve], [p.load_lbf for p in test.curve], "force", "length")
    return found, {"load_test.curve": curve}
