"""Pages of design help, under the site's own addresses."""

from django.urls import path

from jobs.views import design_help

urlpatterns = [
    path("designs/<int:pk>/help/", design_help.design_help, name="design_help"),
    path("designs/<int:pk>/help/start/", design_help.start, name="design_help_start"),
    path("designs/<int:pk>/help/stop/", design_help.stop, name="design_help_stop"),
    path("designs/<int:pk>/help/<slug:kind>/", design_help.part, name="design_help_part"),
    path("designs/<int:pk>/help/rods/<int:study_pk>/<int:index>/", design_help.draft, name="design_help_draft"),
    path("design-preview/", design_help.preview, name="design_preview"),
]
