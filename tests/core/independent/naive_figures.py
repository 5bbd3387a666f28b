"""The figures that a `Course` gives, by the names of the format."""

from typing import Any

import numpy as np

from tests.core.independent.naive_beam import Array
from tests.core.independent.naive_course import Course
from tests.core.independent.naive_piece import STEEL


def naive_figures(course: Course) -> dict[str, float]:
    found = {**_sections(course), **_statics(course), **_stresses(course), **_deflections(course)}
    for k in range(len(course.rods)):
        found |= _rod(course, k)
    return found


def _signed(most: Array, least: Array) -> tuple[float, float]:
    return max(float(most.max()), 0.0), min(float(least.min()), 0.0)


def _sections(c: Course) -> dict[str, float]:
    ends = [z["to"] for z in c.doc["zones"]]
    lengths = np.diff([0.0, *ends])
    found = {
        "weight": float(np.dot(c.zone_weight, lengths)),
        "batch.volume": sum(s.concrete.area * run for s, run in zip(c.shapes, lengths, strict=True)) / 1728,
    }
    for k, gross in enumerate(c.gross):
        nets = [n for zone, pair in zip(c.zone, c.net_ends, strict=True) if zone == k for n in pair]
        _, low, _, top = c.shapes[k].concrete.bounds
        found |= {
            f"section.{k + 1}.{name}": value
            for name, value in {
                "area": gross.area,
                "centroid": gross.yc,
                "centroid_across": gross.zc,
                "inertia": gross.iy,
                "inertia_lateral": gross.iz,
                "product": gross.iyz,
                "modulus_top": gross.iy / (top - gross.yc),
                "modulus_bottom": gross.iy / (gross.yc - low),
                "net_area": min(n.area for n in nets),
                "net_inertia": min(n.iy for n in nets),
            }.items()
        }
    return found


def _statics(c: Course) -> dict[str, float]:
    dead, (most, least) = c.dead.moment, c.envelope("moment")
    found: dict[str, float] = {}
    pairs = {
        "dead": (dead, dead),
        "service": (dead + most, dead + least),
        "factored": (
            np.maximum(1.4 * dead, 1.2 * dead + 1.6 * most),
            np.minimum(1.4 * dead, 1.2 * dead + 1.6 * least),
        ),
    }
    if c.rods:
        secondary = sum(f * c.secondary(k) for k, f in enumerate(c.transfer))
        pairs["secondary"] = (secondary, secondary)
    for name, (high, low) in pairs.items():
        found[f"moment.{name}_max"], found[f"moment.{name}_min"] = _signed(high, low)
    v, (v_most, v_least) = c.dead.shear, c.envelope("shear")
    found["shear.factored_max"] = max(
        np.abs(np.maximum(1.4 * v, 1.2 * v + 1.6 * v_most)).max(),
        np.abs(np.minimum(1.4 * v, 1.2 * v + 1.6 * v_least)).max(),
    )
    r_most, r_least = c.envelope("reaction")
    none = np.zeros(len(c.posts))
    early = sum((f * a.reaction for f, a in zip(c.transfer, c.of_rod, strict=True)), none)
    late = sum((f * a.reaction for f, a in zip(c.final, c.of_rod, strict=True)), none)
    for k in range(len(c.posts)):
        found |= {
            f"reaction.{k + 1}.dead": c.dead.reaction[k],
            f"reaction.{k + 1}.live_max": r_most[k],
            f"reaction.{k + 1}.live_min": r_least[k],
            f"reaction.{k + 1}.rods": early[k],
            f"reaction.{k + 1}.service_max": c.dead.reaction[k] + r_most[k] + max(early[k], late[k]),
        }
    return found


def _rod(c: Course, k: int) -> dict[str, float]:
    r, transfer, final = c.rods[k], c.transfer[k], c.final[k]
    run, mean, seated = r.x[-1] - r.x[0], r.mean(r.before), r.mean(r.after)
    stretch = mean * run / (r.area * STEEL)
    shortening = c.coupling[k, k] * mean / c.e_young * run
    dead_ends, anchor = 2 - len(r.ends), r.rod["anchor"]
    arc = np.hypot(np.diff(r.fine), np.diff(r.level(r.fine))).sum()
    beyond = 2 * anchor["thickness"] + 2 * r.diameter + len(r.ends) * 1.5 + dead_ends * 2 * r.pitch
    plate = anchor["width"] * anchor["height"] - np.pi / 4 * max(anchor["hole"], r.outside) ** 2
    values: dict[str, Any] = {
        "rod.{}.tensile_area": r.area,
        "rod.{}.yield_force": r.area * r.fy,
        "rod.{}.jacking_stress": r.force / r.area,
        "rod.{}.torque": 0.20 * r.diameter * r.force / 12,
        "rod.{}.elongation": stretch,
        "rod.{}.nut_turns": (stretch + shortening) / r.pitch,
        "rod.{}.length": arc + beyond,
        "rod.{}.force_far": r.before.min(),
        "rod.{}.force_mean": mean,
        "rod.{}.force_transfer": transfer,
        "rod.{}.force_final": final,
        "loss.{}.friction": (r.force - mean) / r.area,
        "loss.{}.seating": (mean - seated) / r.area,
        "loss.{}.shortening": (seated - transfer) / r.area,
        "loss.{}.relaxation": c.relaxed(c.ages[-1])[k] / r.area,
        "loss.{}.remaining": final / transfer,
        "anchor.{}.bearing_transfer": r.force / plate,
        "anchor.{}.bearing_service": transfer / plate,
    }
    return {name.format(r.rod["mark"]): float(value) for name, value in values.items()}


def _stresses(c: Course) -> dict[str, float]:
    own, sustained = c.own.moment, c.dead.moment + c.sustained.moment
    stages = {
        "transfer": (c.transfer, own, own),
        "service_early": (c.transfer, *c.service),
        "service_final": (c.final, *c.service),
        "sustained_final": (c.final, sustained, sustained),
    }
    return {
        f"stress.{stage}.{face}": value for stage, state in stages.items() for face, value in c.stage(*state).items()
    }


def _deflections(c: Course) -> dict[str, float]:
    installed_step = c.installed_step if c.history[0] is not None else 0
    installed = c.greatest(c.rise_at(installed_step) + c.drying)
    final = c.greatest(c.rise_at(len(c.ages) - 1) + c.drying)
    share = c.doc.get("sustained_live", 0.0)
    felt = [_most_down(c, [g])["span"] * (1 - share if g == 0 else 1) for g in range(len(c.groups))]
    live = _most_down(c, None)
    found = {
        "crown.transfer": c.greatest(c.rise_at(0)),
        "crown.drying": c.greatest(c.drying),
        "crown.installed": installed,
        "crown.final": final,
        "deflection.live": live["span"],
        "deflection.long": installed - final + max(felt),
    }
    if c.posts[0] > 0:
        found["deflection.tip_left"] = live["left"]
    if c.posts[-1] < c.doc["length"]:
        found["deflection.tip_right"] = live["right"]
    return found


def _most_down(c: Course, groups: list[int] | None) -> dict[str, float]:
    """Of live loads, `modulus`: the greatest deflection down over the patterns; up, where nothing goes down."""
    up, down = c.envelope("rise", groups)
    spans = np.diff(c.posts)
    k = int(np.argmax(spans > spans.max() - 1e-9))
    here = (c.x >= c.posts[k]) & (c.x <= c.posts[k + 1])
    ends = np.arange(len(c.x))
    places = {"span": here, "left": ends == 0, "right": ends == len(c.x) - 1}
    return {
        name: float(-down[where].min() if down[where].min() < 0 else -up[where].max()) / c.e_old
        for name, where in places.items()
    }
