"""Words for the fields of rods, stressing, handling and criteria: means, usual range, its source, marks on the drawing.

Its other half is `helps.py`.
"""

from __future__ import annotations

Row = tuple[str, str, str, str]
PRACTICE = "common practice, no source"
STEEL = "the standard it is named after"
FRICTION = "ACI 318-08 R18.6.2 for bars, from memory; nothing published for a plastic sleeve"

RODS: dict[str, Row] = {
    "rods.mark": ("Its name on the drawing and on the tablet.", "R1, R2 from the front", PRACTICE, "rod"),
    "rods.like": ("Another rod's mark: what stays empty here is as on that rod.", "", "", "rod"),
    "rods.thread": ("Size and series. Coarse where the series is left out.", "3/8 to 3/4 in; M10 to M20", PRACTICE,
                    "rod"),
    "rods.grade": ("The steel by its standard name. A stronger steel loses a smaller share of its force, since every "
                   "rod loses about the same force by shrinkage.", "A193 B7; 8.8 for metric threads", PRACTICE, "rod"),
    "rods.grade.name": ("Of a steel that is in none of the lists, as its certificate has it.", "", "", "rod"),
    "rods.grade.yield": ("Least yield strength on the certificate.", "30 to 130 ksi", STEEL, "rod"),
    "rods.grade.ultimate": ("Least tensile strength on the certificate.", "60 to 150 ksi", STEEL, "rod"),
    "rods.grade.modulus": ("Stiffness of the steel: decides the stretch.", "29,000 ksi; 28,000 ksi stainless",
                           "ASM and makers' data, from memory", "rod"),
    "rods.grade.elongation": ("Stretch at break, as a share.", "0.08 to 0.20", STEEL, "rod"),
    "rods.grade.area": ("Effective area where the maker gives one, as for bars.", "by the thread",
                        "ASME B1.1 or ISO 898-1", "rod"),
    "rods.across": ("From the front edge to the rod's axis. Rods even about the middle keep the piece straight.",
                    "3 in and more from an edge", PRACTICE, "rod"),
    "rods.curve": ("Straight between its points, or a parabola through three.", "straight: a stiff rod does not drape",
                   PRACTICE, "rod"),
    "rods.stressed_from": ("At which end the nut is turned. The piece wants room for the wrench there.", "", "",
                           "anchor"),
    "rods.jacking_force": ("Force under the nut while it is tightened. One of force, stress or torque.",
                           "60 to 75 % of the rod's yield force", "ACI 318-19 20.3.2.5 by analogy; the rest is "
                           "margin for the torque wrench, no source", "rod anchor"),
    "rods.jacking_stress": ("The same as a stress on the thread's area.", "under 0.94 of yield and 0.80 of ultimate, "
                            "scatter included", "ACI 318-19 Table 20.3.2.5.1, by analogy", "rod anchor"),
    "rods.torque": ("The same as a torque on the nut: force by the nut factor.", "15 to 150 lbf·ft", PRACTICE,
                    "anchor"),
    "rods.coating": ("Plain, plated, or greased in a sleeve with capped ends.", "sealed where it can get wet",
                     PRACTICE, "rod sleeve"),
    "rods.tail": ("Thread left past the nut, to hold the rod while it is tightened.", "1 to 2 in", PRACTICE, "anchor"),
    "rods.profile[0]": ("From the left end. The first and the last are the faces the plates sit on: the floors of the "
                        "pockets or the ends of the piece.", "1-1/2 to 4 in inside each end", PRACTICE, "rod anchor"),
    "rods.profile[1]": ("Height of the axis above the lowest underside. Lower lifts the middle more.",
                        "in the lower third, its cover kept", PRACTICE, "rod"),
    "rods.sleeve.outside": ("Of the plastic tube. It takes concrete away, so it counts.", "rod diameter + 1/4 in",
                            PRACTICE, "sleeve"),
    "rods.sleeve.friction": ("Loss for each radian the rod turns.", "0.08 to 0.30", FRICTION, "sleeve"),
    "rods.sleeve.wobble": ("Loss for each foot by a sleeve that is not quite straight.", "0.0001 to 0.0006 per ft",
                           FRICTION, "sleeve"),
    "rods.anchor.width": ("Of the plate, front to back.", "3 to 5 times the rod's diameter", PRACTICE, "anchor"),
    "rods.anchor.height": ("Of the plate, up and down. It must leave concrete round it.",
                           "2 to 3 times the rod's diameter", PRACTICE, "anchor"),
    "rods.anchor.thickness": ("Of the plate. A thin one bends and the nut tilts.", "a diameter of the rod", PRACTICE,
                              "anchor"),
    "rods.anchor.hole": ("In the plate, for the rod.", "rod diameter + 1/16 in", "AISC 360 Table J3.3, from memory",
                          "anchor"),
    "rods.anchor.yield": ("Yield strength of the plate's steel.", "36 to 50 ksi", "ASTM A36, A572", "anchor"),
    "rods.pocket.width": ("Of the recess the nut sits in, front to back. A socket must fit in.", "plate + 1/4 in",
                          PRACTICE, "anchor"),
    "rods.pocket.height": ("Of the recess, up and down.", "plate + 1/4 in", PRACTICE, "anchor"),
}  # fmt: skip

STRESSING: dict[str, Row] = {
    "stressing.age": ("Days from the pour. The strength at stressing is still what opens it, not the day.",
                      "5 to 14 days", PRACTICE, "anchor"),
    "stressing.method": ("What the force is told by. Torque alone says little: measure the stretch as well.", "", "",
                         "anchor"),
    "stressing.nut_factor": ("Torque over force and diameter: thread, paste and washer make it. Test yours.",
                             "0.12 waxed to 0.30 dry and rusty", "bolting handbooks, from memory", "anchor"),
    "stressing.scatter": ("How far the true force may lie off, either way. Checks are made for both ends.",
                          "0.25 to 0.35 by torque, 0.07 by stretch", "bolting handbooks; ACI 318-19 26.10.2", "rod"),
    "stressing.seating": ("How much the plates sink in as the force comes on.", "0.005 to 0.03 in", PRACTICE,
                          "anchor"),
    "stressing.steps": ("Shares of the full force; every rod comes to a step before any goes on.", "3 or 4 steps",
                        PRACTICE, "anchor"),
    "stressing.order": ("Which rod first. From the middle outwards, by turns, keeps the piece straight.",
                        "middle first", PRACTICE, "rod"),
    "stressing.restress": ("Ages at which the rods are brought back to their force, after the early shrinkage. The "
                           "dates go into the schedule.", "28 and 90 days", PRACTICE, "rod anchor"),
}  # fmt: skip

HANDLING: dict[str, Row] = {
    "handling.lift_points": ("Where it is lifted, two places from the left end.", "at a fifth of the length from each "
                             "end", "equal moments over and between the two, statics", "outline"),
    "handling.age": ("Days from the pour when it leaves the form.", "1 to 3 days", PRACTICE, ""),
    "handling.strength": ("Cylinder strength that specimens must show then.", "2,000 to 3,000 psi", PRACTICE, ""),
    "handling.flexural_yield": ("First crack of coupons of that age.", "", "", ""),
    "handling.multiplier": ("On its weight, for suction of the form and a jerk of the hoist.", "1.2 to 1.7",
                            "PCI practice, from memory", ""),
    "handling.stressed": ("Whether the rods are tight by then.", "no: it is stripped first", PRACTICE, "rod"),
}  # fmt: skip

CRITERIA: dict[str, Row] = {
    "criteria.live_deflection": ("Span over this is how far live load may bend it.", "360", "ACI 318-19 Table 24.2.2",
                                 "outline"),
    "criteria.long_deflection": ("Span over this is what joints and finishes may feel in its life.", "240 to 480",
                                 "ACI 318-19 Table 24.2.2", "outline"),
    "criteria.crown": ("Span over this is how far the rods may lift the middle.", "240 to 480", PRACTICE, "outline"),
    "criteria.life": ("Years it is to serve.", "30 to 50 years", PRACTICE, ""),
    "criteria.uplift_factor": ("How much more holds a support down than lifts it.", "1.5", PRACTICE, "support"),
    "criteria.cover": ("Least concrete round a sleeve.", "3/8 in indoors, 3/4 in and more outdoors", PRACTICE,
                       "sleeve"),
    "criteria.remaining": ("Least share of the force that must be left in the end.", "0.5",
                           "half of ultimate is where the code's formulas for unbonded steel begin; here of the first "
                           "force, no source", "rod"),
    "criteria.transfer_tension": ("Tension allowed just after stressing, in place of the rule.", "", "", "outline"),
    "criteria.sustained_tension": ("Tension allowed under what is always there, in place of the rule.", "0 for a "
                                   "piece that is to stay uncracked", PRACTICE, "outline"),
    "criteria.service_tension": ("Tension allowed under full load, in place of the rule.", "", "", "outline"),
    "criteria.bursting": ("Tension allowed behind the plates, in place of the rule.", "", "", "anchor"),
    "criteria.support_pressure": ("What the wall or bracket under a support takes.", "by what it rests on", PRACTICE,
                                  "support"),
    "criteria.support_tolerance": ("How far one of three supports may lie off level.", "1/16 to 1/8 in", PRACTICE,
                                   "support"),
}  # fmt: skip
