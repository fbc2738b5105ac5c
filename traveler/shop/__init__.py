"""The folder of a shop: settings, people, gauges."""
