"""The tables of this app that are only added to: decisions, and what was told of a child; with the
columns of somebody's own words, which may be erased (record/privacy/erasing.py).

Shared: used by migrations, and by tests that empty the tables.
"""

from studio.db.append_only import Tables

GUARDED: Tables = {
    "readiness_decision": ("reason",),
    "readiness_placing": ("reason",),
    "readiness_pause": ("reason",),
    "readiness_pauselift": ("reason",),
    "readiness_pain": (),
    "readiness_paingone": (),
    "readiness_growing": ("said_by",),
    "readiness_nohands": (),
    "readiness_told": ("whom",),
    "readiness_classover": (),
    "readiness_hallreport": (),
    "readiness_headknock": (),
    "readiness_symptom": (),
    "readiness_clearance": ("cleared_by",),
    "readiness_stepgiven": ("said_by",),
    "readiness_fell": (),
    "readiness_askedfor": ("whom",),
    "readiness_nottonight": (),
    "readiness_elsewhere": ("said_by",),
    "readiness_incidentaccount": ("mats", "what", "first_aid"),
    "readiness_incidentaddition": ("text",),
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
    "readiness_doornote": ("given_to", "words"),
    "readiness_letterlanguageread": (),
    "readiness_hallequipment": (),
    "readiness_stationplan": (),
    "readiness_stationplace": (),
    "readiness_rotationbegun": (),
    "readiness_wallscreen": (),
    "readiness_twelve": (),
    "readiness_twelveanswers": (),
    "readiness_secondgrade": (),
    "readiness_attemptangles": (),
    "readiness_erasure": ("+answered_by_id", "+answered_at", "+done"),
}
