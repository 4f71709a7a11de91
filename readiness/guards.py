"""The tables of this app that are only added to: decisions, and what was told of a child.

Shared: used by migrations, and by tests that empty the tables.
"""

from studio.db.append_only import Tables

GUARDED: Tables = {
    "readiness_decision": (),
    "readiness_placing": (),
    "readiness_pause": (),
    "readiness_pauselift": (),
    "readiness_pain": (),
    "readiness_paingone": (),
    "readiness_growing": (),
    "readiness_nohands": (),
    "readiness_told": (),
    "readiness_classover": (),
    "readiness_hallreport": (),
    "readiness_headknock": (),
    "readiness_symptom": (),
    "readiness_clearance": (),
    "readiness_stepgiven": (),
    "readiness_fell": (),
    "readiness_askedfor": (),
    "readiness_nottonight": (),
    "readiness_elsewhere": (),
    "readiness_incidentaccount": (),
    "readiness_incidentaddition": (),
    "readiness_show": (),
    "readiness_shownumber": (),
    "readiness_wings": (),
    "readiness_runthrough": (),
    "readiness_showentry": (),
    "readiness_spottertraining": (),
    "readiness_youngestspotter": (),
    "readiness_roomnumbers": (),
    "readiness_hourchild": (),
    "readiness_printedletter": ("file", "own"),
    "readiness_lettergiven": (),
    "readiness_doornote": (),
    "readiness_letterlanguageread": (),
    "readiness_hallequipment": (),
    "readiness_stationplan": (),
    "readiness_stationplace": (),
    "readiness_attemptangles": (),
}
