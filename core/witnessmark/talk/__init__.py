"""One conversation with control units: a request and all that answered it, and the one owner of the wire."""
