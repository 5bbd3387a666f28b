"""Addresses of the API, under api/."""

from django.urls import include, path, re_path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.routers import SimpleRouter

from jobs.api import (
    attachments,
    book,
    cure,
    designs,
    load_testing,
    nowhere,
    orders,
    pieces,
    production,
    quality,
    standards,
    stock,
    studies,
)
from jobs.api.documentation import api_page

router = SimpleRouter()
for prefix, viewset in (
    ("orders", orders.OrderViewSet),
    ("designs", designs.DesignViewSet),
    ("specifications", designs.RevisionViewSet),
    ("check-runs", designs.CheckRunViewSet),
    ("studies", studies.StudyViewSet),
    ("standard-pieces", standards.StandardPieceViewSet),
    ("releases", designs.ReleaseViewSet),
    ("pieces", pieces.PieceViewSet),
    ("form-checks", production.FormCheckViewSet),
    ("pours", production.PourViewSet),
    ("strength-tests", production.StrengthTestViewSet),
    ("stressings", production.StressingViewSet),
    ("load-tests", production.LoadTestViewSet),
    ("installations", production.InstallationViewSet),
    ("non-conformances", quality.NonConformanceViewSet),
    ("lift-offs", quality.LiftOffViewSet),
    ("incidents", quality.IncidentViewSet),
    ("finishings", quality.FinishingViewSet),
    ("re-stressings", quality.RestressingViewSet),
    ("gate-passes", quality.GatePassViewSet),
    ("load-test-plans", load_testing.LoadTestPlanViewSet),
    ("cure-checks", cure.CureCheckViewSet),
    ("temperatures", cure.TemperatureLogViewSet),
    ("coupon-tests", cure.CouponTestViewSet),
    ("washouts", cure.WashoutViewSet),
    ("mix-versions", stock.MixVersionViewSet),
    ("batch-tickets", stock.BatchTicketViewSet),
    ("lots", stock.LotViewSet),
    ("lot-uses", stock.LotUseViewSet),
    ("attachments", attachments.AttachmentViewSet),
    ("beds", book.BedViewSet),
    ("mixes", book.MixViewSet),
    ("wrenches", book.WrenchViewSet),
    ("events", book.EventViewSet),
    ("me", book.MeViewSet),
):
    router.register(prefix, viewset, basename=f"api-{prefix}")

urlpatterns = [
    path("", api_page, name="api"),
    path("schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("", include(router.urls)),
    re_path(r"^.*/$", nowhere.Nowhere.as_view(), name="api-nowhere"),
]
