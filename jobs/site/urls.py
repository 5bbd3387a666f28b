from django.urls import include, path

from jobs.site.health import health

urlpatterns = [
    path("health/", health, name="health"),
    path("api/", include("jobs.api_urls")),
    path("", include("reports.urls")),
    path("", include("jobs.urls")),
]
