"""Which commands there are: name, where the command object is, and its line in the help."""

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("witnessmark.cli.demo:demo", "Run, audit and draw a whole job on a practice vehicle."),
    "job": ("witnessmark.cli.job:job", "Open, run, list and show jobs."),
    "audit": ("witnessmark.cli.audit:audit", "Answer the questions a dispute turns on, for a job or an evidence file."),
    "sheet": (
        "witnessmark.cli.sheet:sheet",
        "Write the sheet of a job, or of an evidence file: one HTML file that prints.",
    ),
    "statement": ("witnessmark.cli.statement:statement", "Write one plain page for a dispute."),
    "tag": ("witnessmark.cli.tag:tag", "Write the key tag: NOT RELEASED with what is open."),
    "card": ("witnessmark.cli.card:card", "Write a blank card of a procedure, for when every screen is dead."),
    "compare": ("witnessmark.cli.compare:compare", "Write two jobs side by side on one time axis."),
    "procedure": ("witnessmark.cli.procedure:procedure", "Begin, check and show procedures."),
    "evidence": ("witnessmark.cli.evidence:evidence", "Write one job's evidence file."),
    "verify": ("witnessmark.cli.verify:verify", "Say whether an evidence file was altered."),
    "checkpoint": (
        "witnessmark.cli.checkpoint:checkpoint",
        "Sign the journal as it stands; prints text to keep elsewhere.",
    ),
    "key": ("witnessmark.cli.key:key", "Make, show and replace the key that signs sheets and checkpoints."),
    "amend": ("witnessmark.cli.amend:amend", "Correct an entry; both stay visible."),
    "attach": ("witnessmark.cli.attach:attach", "Keep a photo or another file with a job, by its hash."),
    "erase": (
        "witnessmark.cli.erase:erase",
        "Delete a job's plate, customer, complaint and remarks; proofs go on holding (lead).",
    ),
    "check": ("witnessmark.cli.check:check", "Check the whole journal, and name what is damaged."),
    "copy": ("witnessmark.cli.copy:copy", "Copy the journal to another place, and verify the copy."),
    "restore": ("witnessmark.cli.restore:restore", "Put a copy in the place of the journal (lead)."),
    "accept-loss": (
        "witnessmark.cli.accept_loss:accept_loss",
        "Go on after the end of the journal was lost, where no copy has it (lead).",
    ),
    "protocol": ("witnessmark.cli.protocol:protocol", "Learn what a vehicle speaks, and approve what may be sent."),
    "person": ("witnessmark.cli.person:person", "Who works here: ids, roles and PINs; sign on and off."),
    "decode": ("witnessmark.cli.decode:decode", "Print the diagnostic conversations of a recording."),
    "adapters": ("witnessmark.cli.adapters:adapters", "List adapters, who ships them, and how an address is written."),
    "plugin": ("witnessmark.cli.plugin:plugin", "Begin a plugin of your own."),
    "practice": ("witnessmark.cli.practice:practice", "Run a practice vehicle, or do something to it by hand."),
    "doctor": ("witnessmark.cli.doctor:doctor", "Load every plugin and say what is wrong with it."),
}

JOB: dict[str, tuple[str, str]] = {
    "open": ("witnessmark.cli.job_open:open_", "Open a job on one vehicle, with its procedure and map."),
    "run": ("witnessmark.cli.job_run:run", "Walk through a job, from where it stands."),
    "enter": ("witnessmark.cli.job_enter:enter", "Key in a card afterwards; each entry says so."),
    "close": ("witnessmark.cli.job_close:close", "Finish a job whose steps are all done."),
    "abandon": ("witnessmark.cli.job_close:abandon", "Give a job up, with a reason."),
    "release": ("witnessmark.cli.job_release:release", "Release a finished job (lead); what is open keeps it shut."),
    "list": ("witnessmark.cli.job_list:list_", "List the jobs of this bay."),
    "show": ("witnessmark.cli.job_show:show", "Show every entry of a job."),
    "move": ("witnessmark.cli.job_move:move", "Hand a job over to another bay, with the file to take there."),
    "take-over": ("witnessmark.cli.job_take_over:take_over", "Go on with a job that began in another bay."),
}

PROCEDURE: dict[str, tuple[str, str]] = {
    "new": ("witnessmark.cli.procedure_new:new", "Begin a procedure in a new file."),
    "check": ("witnessmark.cli.procedure_check:check", "Explain every mistake with line and key."),
    "show": ("witnessmark.cli.procedure_show:show", "Show what it rests on and every point of the job."),
}

PERSON: dict[str, tuple[str, str]] = {
    "add": ("witnessmark.cli.person_add:add", "Add a person (the first is the lead)."),
    "role": ("witnessmark.cli.person_role:role", "Make a person a technician or a lead (lead)."),
    "remove": ("witnessmark.cli.person_remove:remove", "Remove a person (lead)."),
    "pin": ("witnessmark.cli.person_pin:pin", "Give a person a new PIN: yourself, or anybody as lead."),
    "list": ("witnessmark.cli.person_list:list_", "List the people, who is signed on, and what changed them."),
    "accept": ("witnessmark.cli.person_accept:accept", "Put on record what was changed by hand in the people file."),
    "sign-on": ("witnessmark.cli.person_sign:sign_on", "Sign on."),
    "sign-off": ("witnessmark.cli.person_sign:sign_off", "Sign off."),
}

KEY: dict[str, tuple[str, str]] = {
    "new": ("witnessmark.cli.key_new:new", "Make the key that signs sheets and checkpoints (lead)."),
    "show": ("witnessmark.cli.key_show:show", "Print the public key to post, and those before it."),
    "replace": (
        "witnessmark.cli.key_replace:replace",
        "Replace the key by a new one that the old one vouches for (lead).",
    ),
}

PROTOCOL: dict[str, tuple[str, str]] = {
    "probe": ("witnessmark.cli.protocol_probe:probe", "Find out what a parked vehicle answers. Only reads."),
    "listen": ("witnessmark.cli.protocol_listen:listen", "Learn from another tester, live or recorded. Sends nothing."),
    "join": ("witnessmark.cli.protocol_join:join", "Join what was probed and what was heard of one vehicle."),
    "name": ("witnessmark.cli.protocol_name:name", "Name a wire command that was heard."),
    "take": ("witnessmark.cli.protocol_take:take", "Take one control unit out of the map of a vehicle."),
    "show": ("witnessmark.cli.protocol_show:show", "Show a map as tables or as an HTML page."),
    "diff": ("witnessmark.cli.protocol_diff:diff", "Say what differs between two maps."),
    "approve": ("witnessmark.cli.protocol_approve:approve", "Allow a map's wire commands for one control unit (lead)."),
    "withdraw": (
        "witnessmark.cli.protocol_withdraw:withdraw",
        "End every approval of a map, or all, at once (anybody).",
    ),
}

ADAPTERS: dict[str, tuple[str, str]] = {
    "find": ("witnessmark.cli.adapters_find:find", "List what is plugged in, and the address to type."),
    "check": (
        "witnessmark.cli.adapters_check:check",
        "Try a link with requests that only read, and say what is wrong.",
    ),
}
