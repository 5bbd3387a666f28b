"""Pages of production beyond the one next entry, under the site's own addresses."""

from django.urls import path

from jobs.views.production import curing, load_testing, plan, procedures, quality, recipes, stock

urlpatterns = [
    path("non-conformances/", quality.non_conformances, name="non_conformances"),
    path("non-conformances/<int:pk>/", quality.non_conformance, name="non_conformance"),
    path("photos/<int:pk>.jpg", quality.photo, name="photo"),
    path("pieces/<int:pk>/non-conformance/", quality.non_conformance_new, name="non_conformance_new"),
    path("pieces/<int:pk>/photo/", quality.photo_new, name="photo_new"),
    path("pieces/<int:pk>/pass/<slug:to_stage>/", quality.gate_pass, name="gate_pass"),
    path("pieces/<int:pk>/lift-off/", procedures.lift_off, name="lift_off"),
    path("pieces/<int:pk>/re-stressing/", procedures.restressing, name="restressing"),
    path("pieces/<int:pk>/wrong/<slug:kind>/", procedures.incident, name="incident"),
    path("pieces/<int:pk>/finish/", procedures.finishing, name="finishing"),
    path("shop/mixes/<int:pk>/recipe/", recipes.mix_version, name="mix_version"),
    path("pieces/<int:pk>/batch/", recipes.tickets, name="tickets"),
    path("pieces/<int:pk>/batch/<int:version_pk>/", recipes.ticket, name="ticket"),
    path("pieces/<int:pk>/cure/", curing.cure, name="cure"),
    path("pieces/<int:pk>/cure/temperatures/", curing.temperatures, name="temperatures"),
    path("pieces/<int:pk>/cure/coupons/", curing.coupons, name="coupons"),
    path("pieces/<int:pk>/cure/washout/", curing.washout, name="washout"),
    path("pieces/<int:pk>/load-test/plan/", load_testing.plan, name="load_test_plan"),
    path("pieces/<int:pk>/load-test/run/", load_testing.run_test, name="load_test_run"),
    path("pieces/<int:pk>/load-test/conclude/", load_testing.conclude, name="load_test_conclude"),
    path("today/", plan.today, name="today"),
    path("schedule/", plan.plan, name="schedule"),
    path("pieces/<int:pk>/planned/", plan.pour_planned, name="pour_planned"),
    path("calendar/", plan.calendar, name="calendar"),
    path("calendar/<str:key>.ics", plan.calendar_feed, name="calendar_feed"),
    path("shop/lots/", stock.lots, name="lots"),
    path("shop/lots/new/", stock.lot, name="lot_new"),
    path("shop/lots/<int:pk>/", stock.lot, name="lot"),
    path("shop/learned/", stock.learned, name="learned"),
    path("pieces/<int:pk>/lots/", stock.lots_of_piece, name="piece_lots"),
    path("lists/", stock.export_lists, name="export_lists"),
    path("lists/<slug:name>.<slug:kind>", stock.export, name="export"),
    path("orders/<int:pk>/list/", stock.list_import, name="list_import"),
    path("orders/<int:pk>/copy/", stock.order_copy, name="order_copy"),
    path("designs/<int:pk>/copy/", stock.design_copy, name="design_copy"),
]
