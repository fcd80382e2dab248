"""One thin file a command, loaded only when that command is used."""
