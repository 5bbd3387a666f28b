"""The place where a licensed engineer signs: by pen on the lines, or in the PDF's own signature field."""

from typing import TYPE_CHECKING

from reportlab.platypus import Paragraph
from reportlab.platypus.flowables import Flowable

from reports.sheet import BODY, FAINT, INK, RULE, SANS, SANS_BOLD, safe

if TYPE_CHECKING:
    from reports.opening import Acceptance

WORDS = (
    "This record prepares a review by a licensed engineer; it is none. By signing, the engineer says that the design "
    "basis, the inputs, the checks and the cautions of this record were reviewed, and on what conditions the piece may "
    "be made and installed. The field below takes a digital signature without disturbing the shop's own."
)
LINES = ("Name", "Licence number and jurisdiction", "Date", "Conditions")
FIELD_HIGH = 64.0


class ReviewBlock(Flowable):
    """After drawing, `page` (from 0) and `box` say where the empty signature field belongs."""

    def __init__(self, width: float, acceptance: "Acceptance | None"):
        super().__init__()
        self.room = width
        self.words = [Paragraph(safe(WORDS), BODY)]
        if acceptance:
            self.words.append(Paragraph(safe(_accepted(acceptance)), BODY))
        self.page = 0
        self.box = (0.0, 0.0, 0.0, 0.0)

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.highs = [part.wrap(self.room, height)[1] for part in self.words]
        self.tall = sum(self.highs) + 4 * len(self.highs) + len(LINES) * 24 + FIELD_HIGH + 26
        return self.room, self.tall

    def draw(self) -> None:
        canvas, y = self.canv, self.tall
        for part, high in zip(self.words, self.highs, strict=True):
            y -= high
            part.drawOn(canvas, 0, y)
            y -= 4
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.6)
        for name in LINES:
            y -= 24
            canvas.setFillColor(FAINT)
            canvas.setFont(SANS, 7.4)
            canvas.drawString(0, y + 2.5, name)
            canvas.line(128, y, self.room, y)
        self._field(y - 14 - FIELD_HIGH)

    def _field(self, y: float) -> None:
        canvas = self.canv
        canvas.setFillColor(INK)
        canvas.setFont(SANS_BOLD, 7.4)
        canvas.drawString(0, y + FIELD_HIGH - 8, "Signature and seal")
        left, right = 128.0, 128.0 + 250.0
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(0.8)
        canvas.rect(left, y, right - left, FIELD_HIGH, stroke=1, fill=0)
        (x1, y1), (x2, y2) = canvas.absolutePosition(left, y), canvas.absolutePosition(right, y + FIELD_HIGH)
        self.page, self.box = canvas.getPageNumber() - 1, (x1 + 2, y1 + 2, x2 - 2, y2 - 2)


def _accepted(acceptance: "Acceptance") -> str:
    licence = f", licence {acceptance.licence}" if acceptance.licence else ""
    where = f", {acceptance.jurisdiction}" if acceptance.jurisdiction else ""
    return (
        f"Released in the shop's book on {acceptance.on} by {acceptance.name}, {acceptance.role}{licence}{where}, "
        f"on the verdict “{acceptance.verdict}”."
    )
