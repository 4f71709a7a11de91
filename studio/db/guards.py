"""The tables of this app that are only added to; see append_only.py beside it."""

from studio.db.append_only import Tables

GUARDED: Tables = {
    "studio_auditentry": ("payload", "salt", "+place", "+digest"),
    "studio_attendance": (),
    "studio_spottingconsent": ("guardian", "seen_by"),
    "studio_pictureconsent": ("guardian", "seen_by"),
    "studio_hallpictures": (),
    "studio_accountchange": (),
    "studio_classlistchange": (),
    "studio_familyonstaff": ("staff_id", "+ended_at", "+ended_by_id"),
}
