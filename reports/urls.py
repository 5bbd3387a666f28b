from django.urls import path

from reports import views, views_certificates, views_dxf, views_pieces, views_plots, views_preview, views_signed

urlpatterns = [
    path("revisions/<int:pk>/drawing/", views_preview.revision_drawing, name="revision_drawing"),
    path("revisions/<int:pk>/plots/", views_plots.revision_plots, name="revision_plots"),
    path("compared/revisions/<int:left>/<int:right>/", views_plots.compared_revisions, name="compared_revisions"),
    path("compared/studies/<int:left>/<int:right>/", views_plots.compared_answers, name="compared_studies"),
    path("stressings/<int:pk>/plots/", views_plots.stressing_readings, name="stressing_plots"),
    path("drawing/", views_preview.drawing_preview, name="drawing_preview"),
    path("revisions/<int:pk>/dxf/", views_dxf.revision_dxf, name="revision_dxf"),
    path("certificates/", views_certificates.certificates, name="shop_certificates"),
    path("revisions/<int:pk>/records/", views.revision_records, name="revision_records"),
    path("revisions/<int:pk>/record/", views.request_record, name="request_record"),
    path("pieces/<int:pk>/records/", views_pieces.piece_records, name="piece_records"),
    path("pieces/<int:pk>/record/", views_pieces.request_piece_record, name="request_piece_record"),
    path("records/<str:number>/", views.record, name="record"),
    path("records/<str:number>/file/", views.record_file, name="record_file"),
    path("records/<str:number>/signed/", views_signed.upload_signed, name="upload_signed"),
    path("records/<str:number>/signed/<int:pk>/", views_signed.signed_file, name="signed_file"),
    path("verify/", views.verify, name="verify"),
    path("verify/<str:number>/", views.verify, name="verify_record"),
]
