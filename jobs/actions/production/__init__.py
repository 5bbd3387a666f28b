"""What is written down on the floor: form check, pour, strength tests, stressing, load test, install.

An entry does not move the piece; the move is an act of its own, whose gate asks for the entries.
"""

from jobs.actions.production.casting import record_form_check, record_pour, record_strength_test
from jobs.actions.production.proving import record_installation, record_load_test
from jobs.actions.production.stressing import finish_stressing, record_reading, start_stressing, stop_stressing

__all__ = [
    "finish_stressing",
    "record_form_check",
    "record_installation",
    "record_load_test",
    "record_pour",
    "record_reading",
    "record_strength_test",
    "start_stressing",
    "stop_stressing",
]
