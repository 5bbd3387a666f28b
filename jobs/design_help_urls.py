"""Pages of design help, under the site's own addresses."""

from django.urls import path

from jobs.views import comparison, design_help, field_help, standards

urlpatterns = [
    path("designs/<int:pk>/help/", design_help.design_help, name="design_help"),
    path("designs/<int:pk>/what-if/", comparison.what_if, name="what_if"),
    path("designs/<int:pk>/what-if/studies/", comparison.what_if_studies, name="what_if_studies"),
    path("designs/<int:pk>/help/start/", design_help.start, name="design_help_start"),
    path("designs/<int:pk>/help/stop/", design_help.stop, name="design_help_stop"),
    path("designs/<int:pk>/help/find-rods/space/", design_help.space, name="rod_space"),
    path("designs/<int:pk>/help/<slug:kind>/", design_help.part, name="design_help_part"),
    path("designs/<int:pk>/help/re-tightening/<int:study_pk>/", design_help.visits, name="design_help_visits"),
    path("designs/<int:pk>/help/rods/<int:study_pk>/<int:index>/", design_help.draft, name="design_help_draft"),
    path("standard-pieces/", standards.library, name="standard_pieces"),
    path("standard-pieces/<int:pk>/", standards.standard, name="standard_piece"),
    path("standard-pieces/<int:pk>/approve/", standards.approve, name="standard_approve"),
    path("standard-pieces/<int:pk>/retire/", standards.retire, name="standard_retire"),
    path("standard-pieces/<int:pk>/under-way/", standards.under_way, name="standard_under_way"),
    path("revisions/<int:pk>/standard-piece/", standards.make, name="standard_make"),
    path("field-help/", field_help.about, name="field_help"),
    path("design-preview/", design_help.preview, name="design_preview"),
]
