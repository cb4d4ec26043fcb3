"""Who may import whom: the one table. `test_layers` holds the code to it, and DEVELOPERS.md shows it."""

ALLOWED: dict[str, set[str]] = {
    "errors": set(),
    "clock": {"errors"},
    "quantity": {"errors"},
    "document": {"errors"},
    "range": set(),
    "link": {"errors", "clock", "quantity"},
    "wire": {"errors", "clock", "quantity"},
    "journal": {"errors", "clock", "quantity"},
    "procedure": {"errors", "clock", "quantity", "document"},
    "people": {"errors", "clock", "quantity"},
    "recording": {"errors", "clock", "quantity", "link.frame", "wire"},
    "talk": {"errors", "clock", "quantity", "link", "wire"},
    "mapping": {"errors", "clock", "quantity", "link", "talk", "wire", "recording"},
    "job": {
        "errors", "clock", "quantity", "range", "procedure", "people", "talk", "link", "wire", "mapping", "journal",
    },
    "audit": {
        "errors", "clock", "quantity", "range", "document", "procedure", "wire",
        "journal.entry", "journal.bodies", "journal.kinds", "journal.merkle", "journal.checkpoint", "journal.canonical",
        "journal.evidence",
    },
    "report": {
        "errors", "clock", "quantity", "range", "audit", "wire", "procedure",
        "journal.entry", "journal.bodies", "journal.kinds", "journal.checkpoint", "journal.canonical",
        "journal.evidence", "journal.permission",
    },
    "hookspecs": {"errors", "clock", "quantity", "link"},
    "plugin": {
        "errors", "clock", "quantity", "link", "hookspecs", "audit.case", "audit.question", "audit.verdict",
    },
    "testing": {"errors", "clock", "quantity", "link", "wire", "plugin", "talk", "host.plugins"},
    "host": {
        "errors", "clock", "quantity", "document", "link", "wire", "recording", "talk", "procedure", "mapping",
        "people", "job", "journal", "audit", "report", "hookspecs", "plugin",
    },
    "cli": {
        "errors", "clock", "quantity", "range", "link", "wire", "recording", "talk", "procedure", "mapping", "people",
        "job", "journal", "audit", "report", "hookspecs", "plugin", "host", "testing",
    },
    "web": {
        "errors", "clock", "quantity", "link", "wire", "recording", "talk", "procedure", "mapping", "people", "job",
        "journal", "audit", "report", "hookspecs", "plugin", "host",
    },
}  # fmt: skip
"""Layer -> what it may import from the core, beside itself. `a.b` allows that module alone."""

PLUGINS_MAY_IMPORT = {"plugin", "testing", "wire", "recording", "document", "clock", "errors", "quantity"}

PLUGINS_MAY_BUILD_ON = {"witnessmark_practice": {"witnessmark_prompt"}}
"""The practice vehicle is spoken to through the prompt plugin, like any hardware."""

HEAVY = {"pint", "numpy", "rich", "starlette", "uvicorn", "websockets", "jinja2", "segno", "can"}
"""Slow to import: never at the top of a core module, so that the command line starts fast."""

TIME_MODULES = {"time", "datetime"}
