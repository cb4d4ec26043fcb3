"""The host: finds plugins, composes a shop, and is the only place that opens links and journals."""
