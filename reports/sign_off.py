"""Lines for people to sign on with a pen: name, date, signature."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus.flowables import Flowable

from reports.sheet import FAINT, INK, RULE, SANS, SANS_BOLD

COLUMNS = ((0.0, 0.22, ""), (0.22, 0.5, "name"), (0.52, 0.66, "date"), (0.68, 1.0, "signature"))
ROW_HIGH = 34.0


class SignOff(Flowable):
    """A row for each who signs."""

    def __init__(self, width: float, who: Sequence[str]):
        super().__init__()
        self.room, self.who = width, tuple(who)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.room, ROW_HIGH * len(self.who) + 6

    def draw(self) -> None:
        canvas, y = self.canv, ROW_HIGH * len(self.who) + 6
        for name in self.who:
            y -= ROW_HIGH
            canvas.setFont(SANS_BOLD, 8.4)
            canvas.setFillColor(INK)
            canvas.drawString(0, y + 12, name)
            canvas.setFont(SANS, 6.8)
            canvas.setFillColor(FAINT)
            canvas.setStrokeColor(RULE)
            canvas.setLineWidth(0.7)
            for left, right, words in COLUMNS[1:]:
                canvas.line(left * self.room, y + 10, right * self.room, y + 10)
                canvas.drawString(left * self.room, y + 2, words)
