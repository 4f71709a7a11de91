"""The tables of this app that are only added to; see append_only.py beside it."""

from studio.db.append_only import Tables

GUARDED: Tables = {
    "studio_attendance": (),
    "studio_spottingconsent": (),
    "studio_pictureconsent": (),
    "studio_hallpictures": (),
    "studio_accountchange": (),
    "studio_classlistchange": (),
    "studio_familyonstaff": ("+ended_at", "+ended_by_id"),
}
