from django.urls import include, path

from jobs.site.health import health
from jobs.site.metrics import metrics

urlpatterns = [
    path("health/", health, name="health"),
    path("metrics/", metrics, name="metrics"),
    path("api/", include("jobs.api_urls")),
    path("", include("reports.urls")),
    path("", include("jobs.urls")),
]

handler500 = "jobs.site.our_fault.our_fault"
