"""All of the site's tables, by subject."""

from jobs.models.events import ChainHead, Event
from jobs.models.order import Design, Order, Piece, Release, Revision
from jobs.models.people import ApiToken, Person, Role
from jobs.models.procedures import Finishing, Incident, LiftOff, Restressing
from jobs.models.production import (
    FormCheck,
    Installation,
    LoadTest,
    Pour,
    StrengthTest,
    Stressing,
    StressingReading,
)
from jobs.models.quality import GatePass, NonConformance, Photo
from jobs.models.shop import Mix, Shop, Wrench
from jobs.stages import Stage

__all__ = [
    "ApiToken", "ChainHead", "Design", "Event", "Finishing", "FormCheck", "GatePass", "Incident", "Installation",
    "LiftOff", "LoadTest", "Mix", "NonConformance", "Order", "Person", "Photo", "Piece", "Pour", "Release",
    "Restressing", "Revision", "Role", "Shop", "Stage", "StrengthTest", "Stressing", "StressingReading", "Wrench",
]
