"""A beam on supports that hold both ways by direct stiffness, element by element. Sagging moment, up +."""

import numpy as np

Array = np.ndarray


class Beam:
    """nodes: x; stiffness: E·I of each element; supports: x, each at a node."""

    def __init__(self, nodes: Array, stiffness: Array, supports: list[float]) -> None:
        self.x, self.ei = nodes, stiffness
        self.h = np.diff(nodes)
        size = 2 * len(nodes)
        self.matrix = np.zeros((size, size))
        for k, (h, ei) in enumerate(zip(self.h, self.ei, strict=True)):
            self.matrix[2 * k : 2 * k + 4, 2 * k : 2 * k + 4] += self._element(h, ei)
        self.held = [2 * int(np.abs(nodes - at).argmin()) for at in supports]
        self.loose = np.setdiff1d(np.arange(size), self.held)
        self.inverse = np.linalg.inv(self.matrix[np.ix_(self.loose, self.loose)])

    @staticmethod
    def _element(h: float, ei: float) -> Array:
        return (
            ei
            / h**3
            * np.array(
                [
                    [12, 6 * h, -12, 6 * h],
                    [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                    [-12, -6 * h, 12, -6 * h],
                    [6 * h, 2 * h * h, -6 * h, 4 * h * h],
                ]
            )
        )

    def solve(self, line: Array, points: dict[int, float], curvature: Array | None = None) -> "Answer":
        """line: load down of each element; points: load down at nodes; curvature: sagging, imposed on elements."""
        given = np.zeros((len(self.h), 4))
        for k, (h, w) in enumerate(zip(self.h, line, strict=True)):
            given[k] = -w * h * np.array([0.5, h / 12, 0.5, -h / 12])
            if curvature is not None:
                given[k] += self.ei[k] * curvature[k] * np.array([0, -1, 0, 1])
        force = np.zeros(2 * len(self.x))
        for k in range(len(self.h)):
            force[2 * k : 2 * k + 4] += given[k]
        for node, value in points.items():
            force[2 * node] -= value
        moved = np.zeros_like(force)
        moved[self.loose] = self.inverse @ force[self.loose]
        ends = np.array(
            [
                self._element(h, ei) @ moved[2 * k : 2 * k + 4] - given[k]
                for k, (h, ei) in enumerate(zip(self.h, self.ei, strict=True))
            ]
        )
        reaction = (self.matrix @ moved - force)[self.held]
        return Answer(
            moved[::2], np.stack([-ends[:, 1], ends[:, 3]], 1), np.stack([ends[:, 0], -ends[:, 2]], 1), reaction
        )


class Answer:
    """rise at nodes; moment, shear at both ends of elements (elements, 2); reaction, up +."""

    def __init__(self, rise: Array, moment: Array, shear: Array, reaction: Array) -> None:
        self.rise, self.moment, self.shear, self.reaction = rise, moment, shear, reaction
