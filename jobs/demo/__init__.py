"""A made-up shop to look around in: four orders, pieces in every stage. Names are invented, results the engine's.

Everything is done by the site's own actions, so each gate was passed and each event is there. All in one transaction:
the shop is loaded whole or not at all, and a second load finds it and changes nothing.
"""

from django.db import transaction

from jobs.demo import people, scenario
from jobs.models import Order


def load() -> list[str]:
    """Load the demo shop unless there are orders already. Returns a line for each role: how to sign in."""
    with transaction.atomic():
        if not Order.objects.exists():
            scenario.play(people.make())
    return people.sign_in_lines()
