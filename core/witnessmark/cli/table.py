"""Which commands there are: name, where the command object is, and its line in the help."""

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("witnessmark.cli.demo:demo", "Run, audit and draw a whole job on a practice vehicle."),
    "job": ("witnessmark.cli.job:job", "Open, run, list and show jobs."),
    "audit": ("witnessmark.cli.audit:audit", "Answer the questions a dispute turns on, for a job or an evidence file."),
    "sheet": ("witnessmark.cli.sheet:sheet", "Write the job's sheet: one HTML file that prints."),
    "evidence": ("witnessmark.cli.evidence:evidence", "Write one job's evidence file."),
    "verify": ("witnessmark.cli.verify:verify", "Say whether an evidence file was altered. Needs no journal."),
    "protocol": ("witnessmark.cli.protocol:protocol", "Approve what a control unit may be sent, and withdraw it."),
    "decode": ("witnessmark.cli.decode:decode", "Print the diagnostic conversations of a recording."),
    "adapters": ("witnessmark.cli.adapters:adapters", "List adapters, who ships them, and how an address is written."),
    "plugin": ("witnessmark.cli.plugin:plugin", "Begin a plugin of your own."),
    "practice": ("witnessmark.cli.practice:practice", "Run a practice vehicle, or do something to it by hand."),
    "doctor": ("witnessmark.cli.doctor:doctor", "Load every plugin and say what is wrong with it."),
}

JOB: dict[str, tuple[str, str]] = {
    "open": ("witnessmark.cli.job_open:open_", "Open a job on one vehicle, with its procedure and map."),
    "run": ("witnessmark.cli.job_run:run", "Walk through a job, from where it stands."),
    "list": ("witnessmark.cli.job_list:list_", "List the jobs of this bay."),
    "show": ("witnessmark.cli.job_show:show", "Show every entry of a job."),
}

PROTOCOL: dict[str, tuple[str, str]] = {
    "approve": ("witnessmark.cli.protocol_approve:approve", "Allow a map's wire commands for one control unit (lead)."),
    "withdraw": ("witnessmark.cli.protocol_withdraw:withdraw", "End every approval of a map, at once (lead)."),
}

ADAPTERS: dict[str, tuple[str, str]] = {
    "find": ("witnessmark.cli.adapters_find:find", "List what is plugged in, and the address to type."),
    "check": (
        "witnessmark.cli.adapters_check:check",
        "Try a link with requests that only read, and say what is wrong.",
    ),
}
