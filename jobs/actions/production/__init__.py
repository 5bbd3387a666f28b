"""What is written down on the floor: form check, pour, strength tests, stressing, load test, install.

An entry does not move the piece; the move is an act of its own, whose gate asks for the entries.
"""

from jobs.actions.production.beds import lay_on_bed
from jobs.actions.production.casting import record_form_check, record_pour, record_strength_test
from jobs.actions.production.curing import record_coupon_test, record_cure_check, record_temperatures, record_washout
from jobs.actions.production.incidents import record_incident
from jobs.actions.production.load_testing import conclude_load_test, plan_load_test, record_load_reading
from jobs.actions.production.procedures import record_finishing, record_lift_off, record_restressing
from jobs.actions.production.proving import record_installation, record_load_test
from jobs.actions.production.readings import record_reading, take_back_reading
from jobs.actions.production.stressing import finish_stressing, start_stressing, stop_stressing

__all__ = [
    "conclude_load_test",
    "finish_stressing",
    "lay_on_bed",
    "plan_load_test",
    "record_coupon_test",
    "record_cure_check",
    "record_finishing",
    "record_form_check",
    "record_incident",
    "record_installation",
    "record_lift_off",
    "record_load_reading",
    "record_load_test",
    "record_pour",
    "record_reading",
    "record_restressing",
    "record_strength_test",
    "record_temperatures",
    "record_washout",
    "start_stressing",
    "stop_stressing",
    "take_back_reading",
]
