import importlib.util

from django.urls import include, path

from jobs.site.health import health

urlpatterns = [path("health/", health, name="health")]
if importlib.util.find_spec("jobs.api_urls"):
    urlpatterns.append(path("api/", include("jobs.api_urls")))
if importlib.util.find_spec("reports.urls"):
    urlpatterns.append(path("", include("reports.urls")))
if importlib.util.find_spec("jobs.urls"):
    urlpatterns.append(path("", include("jobs.urls")))
