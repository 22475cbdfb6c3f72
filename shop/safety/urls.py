"""The addresses of safety, in blocks by topic."""

from django.urls import URLPattern, path

from shop.safety import views

app_name = "safety"
urlpatterns: list[URLPattern] = [
    # Substances
    path("substances/", views.substances, name="substances"),
    path("add-substance/", views.add_substance, name="add-substance"),
    path("substances/<slug:slug>/", views.substance, name="substance"),
    path("substances/<slug:slug>/change/", views.change_substance, name="change-substance"),
    path("substances/<slug:slug>/classify/", views.classify_substance, name="classify-substance"),
    path("substances/<slug:slug>/statements/", views.change_statements, name="change-statements"),
    path("substances/<slug:slug>/properties/", views.change_properties, name="change-properties"),
    path("substances/<slug:slug>/limits/", views.change_exposure_limits, name="change-exposure-limits"),
    path("substances/<slug:slug>/stop/", views.stop_substance, name="stop-substance"),
    path("substances/<slug:slug>/resume/", views.resume_substance, name="resume-substance"),
    # Suppliers' sheets
    path("supplier-sheets/", views.supplier_sheets, name="supplier-sheets"),
    path("supplier-sheets/of/<slug:slug>/", views.supplier_sheets_of, name="supplier-sheets-of"),
    path("supplier-sheets/of/<slug:slug>/add/", views.add_supplier_sheet, name="add-supplier-sheet"),
    path("supplier-sheets/<int:pk>/", views.supplier_sheet, name="supplier-sheet"),
    path("supplier-sheets/<int:pk>/sheet.pdf", views.supplier_sheet_file, name="supplier-sheet-file"),
    path("supplier-sheets/<int:pk>/withdraw/", views.withdraw_supplier_sheet, name="withdraw-supplier-sheet"),
    # The room's own sheets
    path("", views.hazards, name="hazards"),
    path("sheets/", views.hazard_sheets, name="hazard-sheets"),
    path("sheets/add/", views.add_sheet, name="add-sheet"),
    path("sheets/rules/", views.change_safety_rules, name="change-safety-rules"),
    path("sheets/reading/", views.sheet_reading, name="sheet-reading"),
    path("sheets/<slug:slug>/", views.hazard_sheet, name="hazard-sheet"),
    path("sheets/<slug:slug>/draft/", views.write_sheet, name="write-sheet"),
    path("sheets/<slug:slug>/draft/drop/", views.drop_draft, name="drop-draft"),
    path("sheets/<slug:slug>/approve/", views.approve_sheet, name="approve-sheet"),
    path("sheets/<slug:slug>/stop/", views.stop_sheet, name="stop-sheet"),
    path("sheets/<slug:slug>/resume/", views.resume_sheet, name="resume-sheet"),
    path("sheets/<slug:slug>/compare/", views.compare_versions, name="compare-versions"),
    path("versions/<int:pk>/", views.sheet_version, name="sheet-version"),
    path("versions/<int:pk>/withdraw/", views.withdraw_version, name="withdraw-version"),
    path("versions/<int:pk>/read/", views.confirm_sheet_read, name="confirm-sheet-read"),
    path("hurry/", views.hurry, name="hurry"),
    path("hurry/worker.js", views.hurry_worker, name="hurry-worker"),
    path("hurry/<slug:slug>/", views.hurry_sheet, name="hurry-sheet"),
    # Papers and the wall
    path("sheets/<slug:slug>/sheet.pdf", views.sheet_pdf, name="sheet-pdf"),
    path("binder/", views.binder, name="binder"),
    path("binder/make/", views.make_binder, name="make-binder"),
    path("binder/<int:pk>/binder.pdf", views.binder_pdf, name="binder-pdf"),
    path("labels/", views.container_labels, name="labels"),
    path("labels/labels.pdf", views.container_labels_pdf, name="labels-pdf"),
    path("wall/", views.wall, name="wall"),
    path("wall/card.pdf", views.wall_card, name="wall-card"),
    path("wall/numbers/", views.keep_call_numbers, name="keep-call-numbers"),
    path("wall/shut-offs/", views.keep_shut_offs, name="keep-shut-offs"),
    path("wall/extinguishers/", views.keep_extinguishers, name="keep-extinguishers"),
    # Places
    path("places/", views.places, name="places"),
    path("places/add/", views.add_place, name="add-place"),
    path("places/<int:pk>/", views.place, name="place"),
    path("places/<int:pk>/change/", views.change_place, name="change-place"),
    path("places/<int:pk>/kept/", views.change_kept, name="change-kept"),
    path("places/<int:pk>/stop/", views.stop_place, name="stop-place"),
    path("places/<int:pk>/resume/", views.resume_place, name="resume-place"),
    path("together/<str:key>/", views.answer_finding, name="answer-finding"),
    path("what-if/", views.what_if, name="what-if"),
    path("what-if/paper.pdf", views.what_if_pdf, name="what-if-pdf"),
    # Containers
    path("containers/", views.containers, name="containers"),
    path("containers/open/", views.open_container, name="open-container"),
    path("containers/<int:pk>/", views.container, name="container"),
    path("containers/<int:pk>/level/", views.read_level, name="read-level"),
    path("containers/<int:pk>/move/", views.move_container, name="move-container"),
    path("containers/<int:pk>/finish/", views.finish_container, name="finish-container"),
    path("substances/<slug:slug>/after-opening/", views.set_open_days, name="set-open-days"),
    # Incidents
    path("incidents/", views.incidents, name="incidents"),
    path("incidents/report/", views.report_incident, name="report-incident"),
    path("incidents/<int:pk>/", views.incident, name="incident"),
    path("incidents/<int:pk>/report.pdf", views.incident_pdf, name="incident-pdf"),
    path("incidents/<int:pk>/note/", views.note_incident, name="note-incident"),
]
