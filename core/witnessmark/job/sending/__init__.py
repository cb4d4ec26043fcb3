"""One actuation on its way: what is looked at before, the request, what came of it, the stop."""
