"""What each field of the form means, its usual range and where that comes from, and what it is on the drawing.

One table, read beside `layout.py`, and so longer than other files. `field_help` finds the words for a field by its
path; a field without words fails a test.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from jobs.forms.specification.helps_of_rods import CRITERIA, HANDLING, RODS, STRESSING, Row

PRACTICE = "common practice, no source"
GFRC = "trade tables of spray-up and premix GFRC, second-hand; coupons of your own mix decide"
ACI_209 = "ACI 209R-92, for ordinary concrete; GFRC, with more paste and fines, lies higher"
ASCE_7 = "ASCE 7-22 Table 4.3-1, from memory; the local code decides"
CONTRACT = "what the format takes"


@dataclass(frozen=True)
class FieldHelp:
    """means: in shop words. usual: range, empty where there is none to give. shows: roles of marks on the drawing."""

    means: str
    usual: str
    source: str
    shows: tuple[str, ...]


PIECE: dict[str, Row] = {
    "mark": ("The name of the piece on drawings, labels and the board.", "a letter and a number, C-104", PRACTICE, ""),
    "title": ("What it is and where, in a few words, for people.", "", "", ""),
    "units": ("What a plain number means. Text with a unit of its own, 3/8 in or 12 mm, is always taken.", "", "", ""),
    "cast": ("Which way up it lies in the form. Describe it as installed all the same; form drawings turn it over, and "
             "stripping is checked for gravity the other way.", "face down for a polished face", PRACTICE, "outline"),
    "length": ("From the left end to the right, installed. x is counted from the left end.",
               "6 to 20 ft; longer is handled as a special lift", PRACTICE, "outline dimension"),
    "core_density": ("Weight of the foam inside: it counts in the dead load and in nothing else.",
                     "1 to 3 lb/ft³ for rigid foam", PRACTICE, "core"),
    "sustained_live": ("The part of the live load that is always there, such as machines on a bar: it makes the piece "
                       "creep.", "0 to 0.3; 1 for storage", PRACTICE, "load"),
}  # fmt: skip

ZONES: dict[str, Row] = {
    "zones.to": ("Where this cross-section ends; the next begins there. The last one ends at the length.",
                 "a solid zone of 6 to 12 in at each anchor", PRACTICE, "zone outline"),
    "zones.shape.type": ("Solid, with foam inside, a slab with a turned-down front or back, strips beside an opening, "
                         "or corners of your own.", "", "", "outline core"),
    "zones.shape.bottom": ("How far this zone's underside lies above the deepest zone's. Empty: tops level.",
                           "tops level", PRACTICE, "outline"),
    "zones.shape.width": ("From front to back.", "12 to 36 in", PRACTICE, "outline dimension"),
    "zones.shape.depth": ("Thickness from top to underside, skin and core together. Deflection falls with its cube.",
                          "2 to 4 in; span over depth under about 40", PRACTICE, "outline dimension"),
    "zones.shape.cores.left": ("From the front edge to this core's front side.", "", "", "core"),
    "zones.shape.cores.width": ("Of the foam, front to back. The skin over it spans this width.",
                                "4 to 8 in under a 3/4 in skin", PRACTICE, "core"),
    "zones.shape.cores.bottom": ("Concrete under the foam.", "at least 5/8 in; 3/4 in where a rod runs below", PRACTICE,
                                 "core"),
    "zones.shape.cores.height": ("Of the foam. What is left above it is the skin people stand glasses on.",
                                 "half the depth, 3/4 in of skin left above and below", PRACTICE, "core"),
    "zones.shape.outer": ("Corners of the section in order round it, one on each line: across from the front edge, up "
                          "from the lowest point of this zone.", "", "", "outline"),
    "zones.shape.holes": ("Corners of a hollow, one on each line. It is empty: no foam, no weight.", "", "", "outline"),
    "supports.at": ("Middle of the support, from the left end.", "ends at 3 to 20 % of the length", PRACTICE,
                    "support"),
    "supports.bearing": ("How long the piece rests on it, along x.", "1-1/2 to 4 in", PRACTICE, "support"),
    "supports.hold_down": ("Whether it can also hold the piece down, by a bolt or a clip. A cantilever with nothing on "
                           "its other side needs it.", "", "", "support"),
}  # fmt: skip
for _strip in ("front", "back"):
    ZONES[f"zones.shape.{_strip}.thickness"] = (
        f"Thickness of the turned-down {_strip}, front to back.", "3/4 to 2 in", PRACTICE, "outline")
    ZONES[f"zones.shape.{_strip}.drop"] = (
        f"How far the {_strip} comes down below the slab.", "2 to 10 in for a sink front", PRACTICE, "outline")
for _key, _means in (
    ("left", "From the front edge to this strip."),
    ("width", "Of this strip, front to back. All strips bend together."),
    ("bottom", "From the zone's underside to this strip's."),
    ("height", "Thickness of this strip."),
):
    ZONES[f"zones.shape.rails.{_key}"] = (_means, "strips of 3 in and more beside an opening" if _key == "width"
                                          else "", PRACTICE if _key == "width" else "", "outline")  # fmt: skip

LOADS: dict[str, Row] = {
    "loads.label": ("What it is, so that the reviewer knows: crowd, upstand, coffee machine.", "", "", "load"),
    "loads.case": ("Dead: always there. Live: comes and goes; it is put on each span where it does most harm.",
                   "", "", "load"),
    "loads.type": ("Over the whole width, along a line, or at one place.", "", "", "load"),
    "loads.value": ("How much, downwards plus. An area load in psf or kPa, a line load in lbf/ft or kN/m, a point load "
                    "in lbf or N.", "counter 40 to 100 psf with 300 lbf anywhere; bench and stair tread 100 psf",
                    ASCE_7, "load"),
    "loads.from": ("Where the load begins. Empty: at the left end.", "", "", "load"),
    "loads.to": ("Where the load ends. Empty: at the right end.", "", "", "load"),
    "loads.at": ("Where a point load stands; the word anywhere walks it along the piece.",
                 "anywhere, for a person who sits or stands", PRACTICE, "load"),
    "loads.across": ("How far from the front edge it stands. Off the middle it also twists the piece.", "", "", "load"),
    "loads.footprint": ("Side of the square it stands on: for the skin over a core.", "4 in; a chair leg 1 in",
                        PRACTICE, "load"),
    "loads.alone": ("Acts without the other live loads, as one heavy person alone.", "", "", "load"),
}  # fmt: skip

CONCRETE: dict[str, Row] = {
    "concrete.label": ("Name of the mix. The shop's recipes keep its coupons.", "", "", ""),
    "concrete.density": ("Weight of the hardened mix, from the unit weight of a batch.", "120 to 140 lb/ft³", GFRC,
                         "outline"),
    "concrete.strength": ("Cylinder strength at 28 days.", "7,000 to 12,000 psi sprayed, 5,800 to 8,700 psi premix",
                          GFRC, ""),
    "concrete.strength_at_stressing": ("Cylinder strength that specimens must show before a rod is tightened. The "
                                       "tablet holds the crew to it.", "3,500 to 5,000 psi", PRACTICE, "anchor"),
    "concrete.modulus": ("Stiffness at 28 days, from coupons. From density and strength it comes out too high for "
                         "GFRC, so the verdict is then at best review.", "1,000 to 3,000 ksi", GFRC, ""),
    "concrete.modulus_at_stressing": ("Stiffness at the stressing age, from coupons of that age.",
                                      "80 to 90 % of that at 28 days", PRACTICE, ""),
    "concrete.flexural_yield": ("Bending stress at which a coupon's line first bends: the first crack.",
                                "900 to 1,500 psi sprayed, 725 to 1,160 psi premix", GFRC, ""),
    "concrete.flexural_ultimate": ("Greatest bending stress of a coupon. It falls with the years.",
                                   "2,000 to 3,500 psi sprayed, 1,450 to 2,030 psi premix", GFRC, ""),
    "concrete.flexural_yield_at_stressing": ("First crack of coupons at stressing age. Test it: a curve of cylinder "
                                             "strength does not tell.", "", "", ""),
    "concrete.variation_yield": ("Standard deviation of the first crack over its mean, of 20 coupons.", "0.08 to 0.15",
                                 PRACTICE, ""),
    "concrete.variation_ultimate": ("The same of the greatest stress.", "0.08 to 0.15", PRACTICE, ""),
    "concrete.residual_tension": ("Tension that fibres carry across an open crack. Only the load to failure uses it.",
                                  "a quarter to a half of the ultimate", PRACTICE, ""),
    "concrete.shrinkage": ("How much the piece shortens by drying in the end. It is what rods lose most by.",
                           "0.0004 to 0.0011; 0.0005 to 0.0015 for GFRC indoors", ACI_209, ""),
    "concrete.creep": ("How many times its first shortening a stressed piece shortens more, in the end.",
                       "1.3 to 4.2; 2 to 4 for GFRC", ACI_209, ""),
    "concrete.cure_age": ("When the covers come off and drying starts.", "7 days moist", "ACI 209R-92", ""),
}  # fmt: skip

AROUND: dict[str, Row] = {
    "installation.age": ("When it is put on its supports and the dead loads come on.", "28 days or more", PRACTICE,
                         "support"),
    "environment.humidity": ("Of the air it lives in. It raises cautions; it corrects no shrinkage.",
                             "30 to 50 % heated rooms, 70 % outdoors", PRACTICE, ""),
    "environment.exposure": ("How wet and how salty: decides which coating and which steel a rod needs.", "", "",
                             "rod anchor"),
    "environment.drying_difference": ("How much more the underside shrinks than the top, where one side is sealed: the "
                                      "piece bows.", "0 to 0.0003", PRACTICE, "outline"),
}  # fmt: skip

ROWS: dict[str, Row] = {**PIECE, **ZONES, **LOADS, **CONCRETE, **RODS, **STRESSING, **AROUND, **HANDLING, **CRITERIA}
HELPS: dict[str, FieldHelp] = {
    path: FieldHelp(means, usual, source, tuple(shows.split())) for path, (means, usual, source, shows) in ROWS.items()
}
OF_AN_ITEM = re.compile(r"\[\d{1,4}\](\[\d\])?")


def plain_path(name: str) -> str:
    """A field's path without the numbers of its items: `rods[1].profile[0][1]` → `rods.profile[1]`."""
    return OF_AN_ITEM.sub(lambda found: found[1] or "", name)


def field_help(name: str) -> FieldHelp | None:
    """The words for a field by its name in the form; None for no field of the form."""
    return HELPS.get(name) or HELPS.get(plain_path(name))
