"""Which fields the specification form has: the keys, units, choices and defaults of piece-specification/1.

One table, and so longer than other files: it is read beside the format, from top to bottom.
"""

from __future__ import annotations

from engineering.core.tables.grades import GRADES
from jobs.forms.specification.nodes import Cell, Either, Pair, Part, Rows

FORMAT = "piece-specification/1"
YES_NO = (("true", "yes"), ("false", "no"))

THREADS = (  # those that a shop has at hand; any other can be typed
    "3/8-16 UNC",
    "1/2-13 UNC",
    "5/8-11 UNC",
    "3/4-10 UNC",
    "1/2-20 UNF",
    "5/8-18 UNF",
    "M10",
    "M12",
    "M16",
    "M20",
)
SUGGESTIONS = {"grades": tuple(GRADES), "threads": THREADS}


def length(key: str, label: str, **more: str) -> Cell:
    return Cell(key, label, dimension="length", **more)  # type: ignore[arg-type]  # the rest are all plain words


def stress(key: str, label: str, **more: str) -> Cell:
    return Cell(key, label, dimension="stress", **more)  # type: ignore[arg-type]  # as above


BLOCK = (
    length("left", "Left edge, from the front"),
    length("width", "Width"),
    length("bottom", "Bottom, from the zone's soffit"),
    length("height", "Height"),
)
LEG = (length("thickness", "Thickness"), length("drop", "Drop below the slab"))
SLAB = (length("width", "Width"), length("depth", "Depth"))

SHAPE = Part(
    "shape",
    "Shape",
    (
        Cell(
            "type",
            "Kind of section",
            "choice",
            redraws=True,
            wide="long",
            choices=(
                ("solid", "solid"),
                ("cored", "with foam cores"),
                ("apron", "slab with apron"),
                ("rails", "rails beside an opening"),
                ("outline", "free outline"),
            ),
        ),
        length("bottom", "Soffit above y = 0", empty="flush at the top"),
    ),
    by_type=(
        ("solid", SLAB),
        ("cored", (*SLAB, Rows("cores", "Cores", "core", Part("", "Core", BLOCK), 12))),
        (
            "apron",
            (*SLAB, Part("front", "Front leg", LEG, optional=True), Part("back", "Back leg", LEG, optional=True)),
        ),
        ("rails", (Rows("rails", "Rails", "rail", Part("", "Rail", BLOCK), 12),)),
        (
            "outline",
            (
                Cell(
                    "outer",
                    "Outer ring",
                    "points",
                    wide="whole",
                    hint="A corner on each line: across, up; from the front edge and the zone's lowest point.",
                ),
                Rows(
                    "holes",
                    "Holes",
                    "hole",
                    Cell("", "Corners of the hole, one on each line: across, up", "points", wide="whole"),
                    12,
                ),
            ),
        ),
    ),
)

ZONES = Rows(
    "zones",
    "Zones",
    "zone",
    Part("", "Zone", (length("to", "Runs to x =", hint="The last one: the length."), SHAPE)),
    60,
    hint="Cross-sections from the left end on, each up to its x.",
)

SUPPORTS = Rows(
    "supports",
    "Supports",
    "support",
    Part(
        "",
        "Support",
        (
            length("at", "At x ="),
            length("bearing", "Bearing length", empty="1.5 in"),
            Cell("hold_down", "Holds down too", "flag", empty="no", choices=YES_NO),
        ),
    ),
    20,
)

LOADS = Rows(
    "loads",
    "Loads",
    "load",
    Part(
        "",
        "Load",
        (
            Cell("label", "What it is", "text", wide="long"),
            Cell("case", "Case", "choice", choices=(("dead", "dead"), ("live", "live"))),
            Cell("type", "Kind", "choice", choices=(("area", "area"), ("line", "line"), ("point", "point"))),
            Cell("value", "Value", dimension="load", hint="Down is plus."),
            length("from", "From x =", empty="the left end"),
            length("to", "To x =", empty="the right end"),
            length("at", "At x = (a point)", hint="Or the word anywhere.", empty="not a point"),
            length("across", "Across, from the front", empty="the centroid"),
            length("footprint", "Footprint of a point", empty="4 in"),
            Cell("alone", "Acts alone", "flag", empty="no", choices=YES_NO),
        ),
    ),
    40,
    named_by="label",
    hint="Self weight is not entered: it follows from the shape and the density.",
)

CONCRETE = Part(
    "concrete",
    "Concrete",
    (
        Cell("label", "Mix", "text", wide="long"),
        Cell("density", "Density", dimension="density"),
        stress("strength", "Strength, 28 days", hint="Cylinders."),
        stress("strength_at_stressing", "Strength at stressing"),
        stress("modulus", "Modulus", empty="by ACI 318-19; the verdict is then at best review"),
        stress("modulus_at_stressing", "Modulus at stressing", empty="likewise"),
        stress("flexural_yield", "Flexural yield", hint="Limit of proportionality, ASTM C947 coupons."),
        stress("flexural_ultimate", "Flexural ultimate", hint="Modulus of rupture, same coupons."),
        stress(
            "flexural_yield_at_stressing", "Flexural yield at stressing", empty="scaled by √strength, with a caution"
        ),
        Cell("variation_yield", "Variation of yield", empty="0.10"),
        Cell("variation_ultimate", "Variation of ultimate", empty="0.10"),
        stress("residual_tension", "Tension left across a crack", empty="a third of flexural ultimate"),
        Cell("shrinkage", "Shrinkage, ultimate", hint="Strain, such as 0.0006."),
        Cell("creep", "Creep, ultimate"),
        Cell("cure_age", "Moist cure ends at", dimension="age", empty="7 days, or the stressing age if earlier"),
    ),
)

GRADE = Either(
    "grade",
    "Grade",
    Cell("grade", "Grade", "code", suggestions="grades"),
    Part(
        "grade",
        "Grade of its own",
        (
            Cell("name", "Name", "text"),
            stress("yield", "Yield"),
            stress("ultimate", "Ultimate"),
            stress("modulus", "Modulus", empty="29,000 ksi"),
            Cell("elongation", "Elongation", empty="0.10"),
            Cell("area", "Tensile area", dimension="area", empty="of the thread"),
        ),
    ),
)

RODS = Rows(
    "rods",
    "Rods",
    "rod",
    Part(
        "",
        "Rod",
        (
            Cell("mark", "Mark", "code"),
            Cell("like", "Like rod", "code", hint="A mark: what stays empty is as on that rod.", empty="of its own"),
            Cell("thread", "Thread", "code", suggestions="threads"),
            GRADE,
            length("across", "Across, from the front"),
            Cell(
                "curve",
                "Curve",
                "choice",
                empty="straight",
                choices=(("straight", "straight"), ("parabola", "parabola")),
            ),
            Cell(
                "stressed_from",
                "Stressed from",
                "choice",
                empty="right",
                choices=(("left", "left"), ("right", "right"), ("both", "both ends")),
            ),
            Cell("jacking_force", "Jacking force", dimension="force", hint="One of these three."),
            stress("jacking_stress", "or jacking stress", empty="force or torque given"),
            Cell("torque", "or torque", dimension="torque", empty="force or stress given"),
            Cell(
                "coating",
                "Coating",
                "choice",
                empty="plain",
                choices=(("plain", "plain"), ("plated", "plated"), ("sealed", "sealed in its sleeve")),
            ),
            length("tail", "Tail past the nut", empty="1.5 in"),
            Rows(
                "profile",
                "Axis of the rod",
                "point",
                Pair("", "Point", (length("", "x"), length("", "y"))),
                40,
                hint="The first and the last x are the anchor faces.",
            ),
            Part(
                "sleeve",
                "Sleeve",
                (
                    length("outside", "Outside diameter"),
                    Cell("friction", "Friction μ"),
                    Cell("wobble", "Wobble K", dimension="wobble"),
                ),
            ),
            Part(
                "anchor",
                "Anchor plate",
                (
                    length("width", "Width"),
                    length("height", "Height"),
                    length("thickness", "Thickness"),
                    length("hole", "Hole"),
                    stress("yield", "Yield", empty="36 ksi"),
                ),
            ),
            Part(
                "pocket",
                "Pocket",
                (length("width", "Width"), length("height", "Height")),
                optional=True,
                hint="Without one the rod is anchored on the end face.",
            ),
        ),
    ),
    40,
    named_by="mark",
)

STRESSING = Part(
    "stressing",
    "Stressing",
    (
        Cell("age", "Age", dimension="age"),
        Cell(
            "method", "Method", "choice", choices=(("torque", "torque"), ("elongation", "elongation"), ("jack", "jack"))
        ),
        Cell("nut_factor", "Nut factor K", empty="0.20"),
        Cell("scatter", "Scatter, ± share of force", empty="0.25 torque, 0.07 elongation, 0.05 jack"),
        length("seating", "Seating slip", empty="0"),
        Cell("steps", "Steps", "list", empty="0.25, 0.5, 0.75, 1", hint="Separated by commas.", wide="long"),
        Cell("order", "Order of rods", "words", empty="as listed", hint="Marks, separated by commas."),
        Cell("restress", "Re-stressed at ages", "list", dimension="age", empty="never"),
    ),
    optional=True,
    hint="Needed where there are rods.",
)

INSTALLATION = Part(
    "installation",
    "Installation",
    (Cell("age", "Age at installation", dimension="age", empty="28 days, or the stressing age if later"),),
)
ENVIRONMENT = Part(
    "environment",
    "Environment",
    (
        Cell("humidity", "Humidity", dimension="percent", empty="50 %"),
        Cell(
            "exposure",
            "Exposure",
            "choice",
            empty="interior, dry",
            choices=(
                ("interior-dry", "interior, dry"),
                ("interior-wet", "interior, wet"),
                ("exterior", "exterior"),
                ("chloride", "chloride"),
            ),
        ),
        Cell(
            "drying_difference",
            "Drying difference",
            empty="0",
            hint="Shrinkage of the bottom face less that of the top.",
        ),
    ),
)
HANDLING = Part(
    "handling",
    "Handling",
    (
        Cell("lift_points", "Two lift points, x", "list", dimension="length", hint="Separated by a comma."),
        Cell("age", "Age then", dimension="age"),
        stress("strength", "Strength then"),
        stress("flexural_yield", "Flexural yield then", empty="scaled by √strength"),
        Cell("multiplier", "Multiplier on self weight", empty="1.5"),
        Cell("stressed", "Rods tight already", "flag", empty="no", choices=YES_NO),
    ),
    optional=True,
    hint="Left out, handling is not checked and the verdict is at best review.",
)
CRITERIA = Part(
    "criteria",
    "Criteria",
    (
        Cell("live_deflection", "Live deflection, L over", empty="360"),
        Cell("long_deflection", "Long-term deflection, L over", empty="240"),
        Cell("crown", "Crown at stressing, L over", empty="240"),
        Cell("life", "Life", dimension="life", empty="30 years"),
        Cell("uplift_factor", "Factor against lifting", empty="1.5"),
        length("cover", "Least sleeve cover", empty="3/8 in"),
        Cell("remaining", "Least share of rod force left", empty="0.5"),
        stress("transfer_tension", "Tension at transfer", empty="from the concrete"),
        stress("sustained_tension", "Tension, sustained", empty="from the concrete"),
        stress("service_tension", "Tension, full load", empty="from the concrete"),
        stress("bursting", "Bursting tension", empty="from the concrete"),
        stress("support_pressure", "Pressure on supports", empty="not checked"),
        length("support_tolerance", "Support off level by", empty="0"),
    ),
)

SPECIFICATION = Part(
    "",
    "Specification",
    (
        Cell("mark", "Mark", "code", hint="Letters, digits, - and _."),
        Cell("title", "Title", "text", wide="long"),
        Cell(
            "units",
            "Units of plain numbers",
            "choice",
            choices=(("us", "inches and pounds"), ("si", "millimetres and newtons")),
            hint="Changing this converts nothing.",
            redraws=True,
            wide="long",
        ),
        Cell("cast", "Cast", "choice", empty="face up", choices=(("face-up", "face up"), ("face-down", "face down"))),
        length("length", "Length"),
        Cell("core_density", "Density of foam", dimension="density", empty="2 lb/ft³"),
        Cell("sustained_live", "Share of live load always there", empty="0"),
        ZONES,
        SUPPORTS,
        LOADS,
        CONCRETE,
        RODS,
        STRESSING,
        INSTALLATION,
        ENVIRONMENT,
        HANDLING,
        CRITERIA,
    ),
)
