"""Which commands there are: name, where the command object is, and its line in the help."""

COMMANDS: dict[str, tuple[str, str]] = {
    "adapters": ("witnessmark.cli.adapters:adapters", "List adapters, who ships them, and how an address is written."),
    "doctor": ("witnessmark.cli.doctor:doctor", "Load every plugin and say what is wrong with it."),
}
