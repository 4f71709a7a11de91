"""The addresses of an import, each with its kind. Shared: used by the roster and the paper log."""

from django.urls import URLPattern, path

from studio.imports import undo_views, views
from studio.imports.bring_in import ImportKind


def import_urls(kind: ImportKind) -> list[URLPattern]:
    """roster, roster/<draft> and so on, named roster-import, roster-preview …"""
    name, given = kind.name, {"kind": kind}
    draft = f"{name}/<uuid:draft>"
    return [
        path(name, views.upload, given, name=f"{name}-import"),
        path(f"{name}/lately", undo_views.lately, given, name=f"{name}-lately"),
        path(f"{name}/undo/<uuid:brought>", undo_views.undo, given, name=f"{name}-undo"),
        path(f"{name}/undo/<uuid:brought>/now", undo_views.undone, given, name=f"{name}-undone"),
        path(draft, views.preview, given, name=f"{name}-preview"),
        path(f"{draft}/options", views.options, given, name=f"{name}-options"),
        path(f"{draft}/confirm", views.confirm, given, name=f"{name}-confirm"),
        path(f"{draft}/left-out", views.left_out, given, name=f"{name}-refused"),
    ]
