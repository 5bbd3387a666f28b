"""What the pages' templates say in one word: a verdict, a ratio bar, a figure with its unit, a form field."""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any

from django import template
from django.forms import BoundField
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from engineering.core.contract.units import format_quantity
from jobs import access
from jobs.errors import ShopError
from jobs.stages import Stage
from jobs.views.preferences import theme_of
from jobs.words import here, say, tell

register = template.Library()

# The shapes: a disc with a tick, a triangle, an eight-sided stop, a diamond, a ring. Told apart without colour.
SHAPES: dict[str, SafeString] = {  # written here, nothing of a person's in them
    "pass": mark_safe(
        '<circle cx="12" cy="12" r="10" fill="currentColor"/><path d="M6.5 12.5l4 4 7-8" fill="none" '
        'stroke="var(--leaf)" stroke-width="2.8" stroke-linecap="round" stroke-linejoin="round"/>'
    ),
    "review": mark_safe(
        '<path d="M12 1.5l10.5 10.5L12 22.5 1.5 12z" fill="currentColor"/>'
        '<path d="M12 6.5v7M12 16.4v1.2" stroke="var(--leaf)" stroke-width="2.8" stroke-linecap="round"/>'
    ),
    "fail": mark_safe(
        '<path d="M8 1.5h8L22.5 8v8L16 22.5H8L1.5 16V8z" fill="currentColor"/>'
        '<path d="M8 8l8 8M16 8l-8 8" stroke="var(--leaf)" stroke-width="2.8" stroke-linecap="round"/>'
    ),
    "caution": mark_safe(
        '<path d="M12 2.5l10.5 19h-21z" fill="none" stroke="currentColor" stroke-width="2.4" '
        'stroke-linejoin="round"/><path d="M12 9v6M12 17.6v1" stroke="currentColor" stroke-width="2.4" '
        'stroke-linecap="round"/>'
    ),
    "still": mark_safe(
        '<circle cx="12" cy="12" r="9" fill="none" stroke="currentColor" stroke-width="2.4" stroke-dasharray="4 3.5"/>'
    ),
}
WORDS = {
    "pass": say("pass"),
    "fail": say("fail"),
    "review": say("review"),
    "caution": say("caution"),
    "not applicable": say("does not apply"),
    "waiting": say("waiting"),
    "running": say("running"),
    "broken": say("broken off"),
    "done": say("check again"),  # done, but not by the engine that runs now: no verdict
    "": say("no verdict"),
}
BAR_END = 1.25  # the bar's scale runs to 1.25 of what is allowed


@register.simple_tag
def shape(name: str) -> SafeString:
    """The verdict's shape alone; beside a word, so hidden from screen readers."""
    drawn = SHAPES.get(name, SHAPES["still"])
    return format_html('<svg class="mark-svg" viewBox="0 0 24 24" aria-hidden="true" focusable="false">{}</svg>', drawn)


@register.simple_tag
def verdict(name: str | None, size: str = "") -> SafeString:
    """A verdict by word, shape and colour."""
    name = name or ""
    kind = name if name in SHAPES else "still"
    return format_html(
        '<span class="verdict verdict-{} {}">{}{}</span>', kind, size, shape(kind), here(WORDS.get(name, name))
    )


@register.inclusion_tag("jobs/_bar.html")
def ratio_bar(check: dict[str, Any]) -> dict[str, Any]:
    """Demand over capacity as a bar with a tick at 1. Nothing is drawn where there is no ratio."""
    ratio = check.get("ratio")
    if not isinstance(ratio, int | float):
        return {"ratio": None, "why": check.get("why") or ""}
    filled = 100 * min(max(ratio, 0.0), BAR_END) / BAR_END
    return {
        "ratio": ratio,
        "filled": f"{filled:.2f}",
        "limit": f"{100 / BAR_END:.2f}",
        "verdict": check.get("verdict"),
        "over": ratio > BAR_END,
    }


@register.filter
def figure(value: Any) -> str:
    """A number as one writes it by hand: four significant figures, thousands apart, no tail of zeros. — for none."""
    if isinstance(value, bool) or value is None or value == "":
        return "—"
    if not isinstance(value, int | float):
        return str(value)
    if value != value or value in (float("inf"), float("-inf")):
        return "—"
    if value == 0:
        return "0"
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    text = f"{value:.4g}"
    return text if "e" not in text else f"{value:.6f}".rstrip("0").rstrip(".") if abs(value) >= 1e-6 else text


@register.filter
def fixed(value: Any, places: int) -> str:
    return f"{value:,.{places}f}" if isinstance(value, int | float) and not isinstance(value, bool) else "—"


@register.filter
def signed(value: Any, places: int = 3) -> str:
    return f"{value:+,.{places}f}" if isinstance(value, int | float) and not isinstance(value, bool) else "—"


@register.filter
def percent(value: Any) -> str:
    return f"{100 * value:.0f} %" if isinstance(value, int | float) else "—"


@register.filter
def due_words(due: date | None) -> str:
    """'in 5 days', 'today', '2 days late'."""
    if due is None:
        return tell("no date")
    days = (due - timezone.localdate()).days
    if days < 0:
        return tell("1 day late") if days == -1 else tell("{days} days late", days=-days)
    if days == 0:
        return tell("due today")
    return tell("due in 1 day") if days == 1 else tell("due in {days} days", days=days)


@register.filter
def is_past(day: date | None) -> bool:
    return day is not None and day < timezone.localdate()


@register.filter
def psi(value_psi: float | None, units: str) -> str:
    """A strength kept in psi, in the reader's units."""
    return "—" if value_psi is None else format_quantity(value_psi, "stress", units)


@register.filter
def unlocal(value: float) -> str:
    """A number for a script to read."""
    return repr(value)


@register.filter
def said(text: Any) -> str:
    """Words of the house in the language of the page (`jobs.words`)."""
    return here(text)


@register.filter
def stage_word(stage: str) -> str:
    """A stage inside a sentence."""
    return here(Stage(stage).label).lower() if stage in Stage.values else str(stage)


@register.filter
def refusal(error: ShopError) -> str:
    """Why something was not done, every reason of a gate included."""
    what = getattr(error, "what", "")
    return (
        f"{here(what)}: {' '.join(here(blocker.text) for blocker in error.blockers)}" if what else here(error.message)
    )


@register.filter
def get(mapping: Any, key: Any) -> Any:
    return mapping.get(key) if isinstance(mapping, dict) else None


@register.simple_tag(takes_context=True)
def may(context: template.Context, permission: str) -> bool:
    request = context.get("request")
    return request is not None and access.may(request.user, permission)


@register.simple_tag(takes_context=True)
def theme(context: template.Context) -> str:
    request = context.get("request")
    return theme_of(request) if request is not None else "device"


@register.simple_tag
def new_request_id() -> str:
    """The number of an entry, until the tablet's own script has made one."""
    return str(uuid.uuid4())


@register.inclusion_tag("jobs/_field.html")
def field(bound: BoundField, unit: str = "") -> dict[str, Any]:
    """A form field with its label, hint and faults; tick boxes have the label beside them."""
    described = [f"{bound.id_for_label}-hint"] if bound.help_text else []
    if bound.errors:
        described.append(f"{bound.id_for_label}-fault")
    attributes: dict[str, str] = {}
    if described:
        attributes["aria-describedby"] = " ".join(described)
    if bound.errors:
        attributes["aria-invalid"] = "true"
    widget = bound.as_widget(attrs={**bound.field.widget.attrs, **attributes})
    return {"bound": bound, "widget": widget, "unit": unit, "kind": bound.widget_type, "required": bound.field.required}
