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
    "readiness_familytold": (),
}
