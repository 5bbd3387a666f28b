"""All of the site's tables, by subject."""

from jobs.models.attachments import Attachment, AttachmentRemoval
from jobs.models.cure import CouponTest, CureCheck, TemperatureLog, WashoutTest
from jobs.models.events import ChainHead, Event
from jobs.models.keeping import Keeping
from jobs.models.load_testing import LoadTestPlan, LoadTestReading
from jobs.models.mix import BatchTicket, MixVersion
from jobs.models.notices import CalendarLink, Notice
from jobs.models.order import Design, Order, Piece, Release, Revision
from jobs.models.people import ApiToken, Language, Person, Role
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
from jobs.models.quality import GatePass, KeptFact, NonConformance, Photo
from jobs.models.shop import Mix, Shop, Wrench
from jobs.models.standard import StandardPiece, StandardUse
from jobs.models.stock import LotUse, StockLot
from jobs.models.tablets import PinTry, ShopTablet
from jobs.stages import Stage

__all__ = [
    "ApiToken", "Attachment", "AttachmentRemoval", "BatchTicket",
    "CalendarLink", "ChainHead", "CouponTest", "CureCheck", "Design", "Event", "Finishing",
    "FormCheck", "GatePass", "Incident", "Installation", "Keeping", "KeptFact", "Language", "LiftOff", "LoadTest",
    "LoadTestPlan", "LoadTestReading", "LotUse", "Mix", "MixVersion", "NonConformance", "Notice", "Order", "Person",
    "Photo", "Piece", "PinTry", "Pour", "Release", "Restressing", "Revision", "Role", "Shop", "ShopTablet", "Stage",
    "StandardPiece", "StandardUse", "StockLot", "StrengthTest", "Stressing", "StressingReading", "TemperatureLog",
    "WashoutTest", "Wrench",
]
