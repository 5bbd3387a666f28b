"""What a page tells the queue of its device: whose it is, when it was drawn, and the words to say it with."""

from __future__ import annotations

import json
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from jobs import tablets
from jobs.models import Language, Piece, ShopTablet

register = template.Library()


@register.simple_tag(takes_context=True)
def tablet_facts(context: template.Context) -> SafeString:
    """Attributes of <body> for whoever is signed in."""
    request = context["request"]
    piece = context.get("piece")
    facts = {
        "person": request.user.pk,
        "name": request.user.display_name,
        "drawn-at": timezone.now().isoformat(timespec="seconds"),
        "proof": tablets.proof(request),
        "piece": piece.pk if isinstance(piece, Piece) else "",
    }
    return format_html_join(" ", 'data-{}="{}"', ((name, value) for name, value in facts.items() if value != ""))


@register.simple_tag(takes_context=True)
def shop_tablet(context: template.Context) -> ShopTablet | None:
    return tablets.tablet_of(context["request"])


@register.simple_tag
def queue_words() -> str:
    """The words of the queue's scripts, in the person's language. {n}, {at}, {name}: filled in on the tablet."""
    words = {
        "offline": _("Offline. This page is as of {at}."),
        "waitsOne": _("1 entry waits on this tablet"),
        "waits": _("{n} entries wait on this tablet"),
        "waitsFor": _("{n} entries wait; for some, {name} has to sign in here"),
        "refusedOne": _("1 entry refused: look at it"),
        "refused": _("{n} entries refused: look at them"),
        "kept": _("Kept on this tablet at {at}. It is sent by itself as soon as the book can be reached."),
        "keptSignIn": _("Kept on this tablet at {at}. It is sent when the one who made it signs in here."),
        "nothingWaits": _("Nothing waits."),
        "nothingRefused": _("Nothing was refused."),
        "inHand": _("In hand: {who}."),
        "keptAsFact": _("It was done, so it is kept as a fact: non-conformance {n}. The engineer decides."),
        "openPage": _("Open its page"),
        "word": _("Your word on it"),
        "putAway": _("Put it away"),
        "putAwayWaits": _("Put away on this tablet; waits to be sent."),
        "draftBack": _("This device still had what you typed here and had not saved. It is back in the form."),
        "draftOther": _(
            "This device still had an entry that was not saved, about something else: {words}. Nothing of it was "
            "filled in."
        ),
        "draftTyped": _("typed"),
        "draftDrop": _("Throw it away"),
        "needsBook": _("This needs the book. Try again when the tablet is back on the network."),
    }
    return json.dumps(words, ensure_ascii=False)


@register.filter
def as_json(value: Any) -> str:
    """For an attribute that a script reads; the template escapes it."""
    return json.dumps(value, ensure_ascii=False)


@register.inclusion_tag("jobs/tablet/_language_form.html", takes_context=True)
def language_form(context: template.Context) -> dict[str, Any]:
    request = context["request"]
    return {
        "languages": Language.choices,
        "now": request.user.language,
        "back": request.get_full_path(),
        "csrf_token": context.get("csrf_token"),
    }
