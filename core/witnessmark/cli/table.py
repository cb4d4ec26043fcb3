"""Which commands there are: name, where the command object is, and its line in the help."""

COMMANDS: dict[str, tuple[str, str]] = {
    "demo": ("witnessmark.cli.demo:demo", "Run, audit and draw a whole job on a practice vehicle."),
    "job": ("witnessmark.cli.job.group:job", "Open, run, list and show jobs."),
    "audit": ("witnessmark.cli.audit:audit", "Answer the questions a dispute turns on, for a job or an evidence file."),
    "sheet": (
        "witnessmark.cli.sheet:sheet",
        "Write the sheet of a job, or of an evidence file: one HTML file that prints.",
    ),
    "statement": ("witnessmark.cli.statement:statement", "Write one plain page for a dispute, two where much is open."),
    "tag": ("witnessmark.cli.tag:tag", "Write the key tag: NOT RELEASED with what is open."),
    "card": ("witnessmark.cli.card:card", "Write a blank card of a procedure, for when every screen is dead."),
    "compare": ("witnessmark.cli.compare:compare", "Write two jobs side by side on one time axis."),
    "procedure": ("witnessmark.cli.procedure.group:procedure", "Begin, check and show procedures."),
    "evidence": ("witnessmark.cli.evidence:evidence", "Write one job's evidence file."),
    "verify": ("witnessmark.cli.verify:verify", "Say whether an evidence file was altered."),
    "checkpoint": (
        "witnessmark.cli.checkpoint:checkpoint",
        "Sign the journal as it stands; prints text to keep elsewhere.",
    ),
    "key": ("witnessmark.cli.key.group:key", "Make, show and replace the key that signs sheets and checkpoints."),
    "amend": ("witnessmark.cli.amend:amend", "Correct an entry; both stay visible."),
    "attach": ("witnessmark.cli.attach:attach", "Keep a photo or another file with a job, by its hash."),
    "erase": (
        "witnessmark.cli.erase:erase",
        "Delete a job's plate, customer, complaint and people's own words; proofs go on holding (lead).",
    ),
    "check": ("witnessmark.cli.check:check", "Check the whole journal, and name what is damaged."),
    "copy": ("witnessmark.cli.copy:copy", "Copy the journal to another place, and verify the copy."),
    "restore": ("witnessmark.cli.restore:restore", "Put a copy in the place of the journal (lead)."),
    "accept-loss": (
        "witnessmark.cli.accept_loss:accept_loss",
        "Go on after the end of the journal was lost, where no copy has it (lead).",
    ),
    "protocol": (
        "witnessmark.cli.protocol.group:protocol",
        "Learn what a vehicle speaks, and approve what may be sent.",
    ),
    "person": ("witnessmark.cli.person.group:person", "Who works here: ids, roles and PINs; sign on and off."),
    "decode": ("witnessmark.cli.decode.command:decode", "Print the diagnostic conversations of a recording."),
    "adapters": (
        "witnessmark.cli.adapters.group:adapters",
        "List adapters, who ships them, and how an address is written.",
    ),
    "plugin": ("witnessmark.cli.plugin:plugin", "Begin a plugin of your own."),
    "practice": ("witnessmark.cli.practice:practice", "Run a practice vehicle, or do something to it by hand."),
    "doctor": ("witnessmark.cli.doctor:doctor", "Load every plugin and say what is wrong with it."),
}

JOB: dict[str, tuple[str, str]] = {
    "open": ("witnessmark.cli.job.open:open_", "Open a job on one vehicle, with its procedure and map."),
    "run": ("witnessmark.cli.job.run:run", "Walk through a job, from where it stands."),
    "enter": ("witnessmark.cli.job.enter:enter", "Key in a card afterwards; each entry says so."),
    "close": ("witnessmark.cli.job.close:close", "Finish a job whose steps are all done."),
    "abandon": ("witnessmark.cli.job.close:abandon", "Give a job up, with a reason."),
    "release": ("witnessmark.cli.job.release:release", "Release a finished job (lead); what is open keeps it shut."),
    "list": ("witnessmark.cli.job.list:list_", "List the jobs of this bay."),
    "show": ("witnessmark.cli.job.show:show", "Show every entry of a job."),
    "move": ("witnessmark.cli.job.move:move", "Hand a job over to another bay, with the file to take there."),
    "take-over": ("witnessmark.cli.job.take_over:take_over", "Go on with a job that began in another bay."),
}

PROCEDURE: dict[str, tuple[str, str]] = {
    "new": ("witnessmark.cli.procedure.new:new", "Begin a procedure in a new file."),
    "check": ("witnessmark.cli.procedure.check:check", "Explain every mistake with line and key."),
    "show": ("witnessmark.cli.procedure.show:show", "Show what it rests on and every point of the job."),
}

PERSON: dict[str, tuple[str, str]] = {
    "add": ("witnessmark.cli.person.add:add", "Add a person (the first is the lead)."),
    "role": ("witnessmark.cli.person.role:role", "Make a person a technician or a lead (lead)."),
    "remove": ("witnessmark.cli.person.remove:remove", "Remove a person (lead)."),
    "pin": ("witnessmark.cli.person.pin:pin", "Give a person a new PIN: yourself, or anybody as lead."),
    "list": ("witnessmark.cli.person.list:list_", "List the people, who is signed on, and what changed them."),
    "accept": ("witnessmark.cli.person.accept:accept", "Put on record what was changed by hand in the people file."),
    "sign-on": ("witnessmark.cli.person.sign:sign_on", "Sign on."),
    "sign-off": ("witnessmark.cli.person.sign:sign_off", "Sign off."),
}

KEY: dict[str, tuple[str, str]] = {
    "new": ("witnessmark.cli.key.new:new", "Make the key that signs sheets and checkpoints (lead)."),
    "show": ("witnessmark.cli.key.show:show", "Print the public key to post, and those before it."),
    "replace": (
        "witnessmark.cli.key.replace:replace",
        "Replace the key by a new one that the old one vouches for (lead).",
    ),
}

PROTOCOL: dict[str, tuple[str, str]] = {
    "probe": ("witnessmark.cli.protocol.probe:probe", "Find out what a parked vehicle answers. Only reads."),
    "listen": ("witnessmark.cli.protocol.listen:listen", "Learn from another tester, live or recorded. Sends nothing."),
    "join": ("witnessmark.cli.protocol.join:join", "Join what was probed and what was heard of one vehicle."),
    "name": ("witnessmark.cli.protocol.name:name", "Name a wire command that was heard."),
    "take": ("witnessmark.cli.protocol.take:take", "Take one control unit out of the map of a vehicle."),
    "show": ("witnessmark.cli.protocol.show:show", "Show a map as tables or as an HTML page."),
    "diff": ("witnessmark.cli.protocol.diff:diff", "Say what differs between two maps."),
    "approve": ("witnessmark.cli.protocol.approve:approve", "Allow a map's wire commands for one control unit (lead)."),
    "withdraw": (
        "witnessmark.cli.protocol.withdraw:withdraw",
        "End every approval of a map, or all, at once (anybody).",
    ),
}

ADAPTERS: dict[str, tuple[str, str]] = {
    "find": ("witnessmark.cli.adapters.find:find", "List what is plugged in, and the address to type."),
    "check": (
        "witnessmark.cli.adapters.check:check",
        "Try a link with requests that only read, and say what is wrong.",
    ),
}
