"""Addresses of everything that reads or adds to the record."""

from django.urls import include, path

from readiness import child_views, floor_views, letter_views, review_views, shell_views

urlpatterns = [
    path("floor/", shell_views.shell, name="floor-start"),
    path("floor/shell", shell_views.shell, name="floor-shell"),
    path("floor/sw.js", shell_views.worker, name="floor-worker"),
    path("floor/manifest.webmanifest", shell_views.manifest, name="floor-manifest"),
    path("floor/<uuid:meeting>", floor_views.floor, name="floor"),
    path("floor/<uuid:meeting>/pack", floor_views.floor_pack, name="floor-pack"),
    path("floor/<uuid:meeting>/attempts", floor_views.floor_attempts, name="floor-attempts"),
    path("classes/<uuid:group>", review_views.class_group, name="class"),
    path("review", review_views.review, name="review"),
    path("children/<uuid:child>", child_views.child, name="child"),
    path("children/<uuid:child>/step", child_views.step, name="step"),
    path("children/<uuid:child>/place", child_views.place, name="place"),
    path("children/<uuid:child>/pause", child_views.pause, name="pause"),
    path("children/<uuid:child>/lift", child_views.lift, name="lift"),
    # A stage's code may hold a slash: "9/two-handsprings" is one skill of stage 9.
    path("children/<uuid:child>/evidence/<path:stage>", review_views.evidence, name="evidence"),
    path("children/<uuid:child>/recommend/<path:stage>", review_views.recommend, name="recommend"),
    path("children/<uuid:child>/sign/<path:stage>", review_views.sign, name="sign"),
    path("children/<uuid:child>/send-back/<path:stage>", review_views.send_back, name="send-back"),
    path(
        "children/<uuid:child>/exception/<path:stage>",
        review_views.write_exception,
        name="exception",
    ),
    path("children/<uuid:child>/letter", letter_views.letter, name="letter"),
    path("children/<uuid:child>/letter.pdf", letter_views.letter_pdf, name="letter-pdf"),
    path("", include("readiness.gates_urls")),
    path("", include("readiness.outbox_urls")),
    path("", include("readiness.paper_urls")),
]
