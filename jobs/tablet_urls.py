"""The tablet: its queue, changing over, and what keeps the pages readable without the network."""

from django.urls import path

from jobs.views import offline, tablet, trust

urlpatterns = [
    path("service-worker.js", offline.service_worker, name="service_worker"),
    path("manifest.webmanifest", offline.manifest, name="manifest"),
    path("trust/", trust.trust, name="trust"),
    path("trust/shop-authority.crt", trust.authority_file, name="authority_file"),
    path("offline/", offline.offline, name="offline"),
    path("tablet/", tablet.tablet, name="tablet"),
    path("tablet/pages.json", tablet.pages_to_keep, name="tablet_pages"),
    path("tablet/refused/", tablet.dismiss, name="refusal_dismiss"),
    path("tablet/change-over/", tablet.change_over, name="change_over"),
    path("tablet/<int:pk>/", tablet.tablet_of_shop, name="tablet_of_shop"),
    path("tablet/<int:pk>/retire/", tablet.retire, name="tablet_retire"),
    path("people/<int:pk>/pin/", tablet.pin_of, name="pin_of"),
    path("pin/", tablet.pin, name="pin"),
    path("language/", tablet.language, name="language"),
]
