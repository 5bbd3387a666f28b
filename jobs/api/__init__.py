"""The REST interface: the same actions, gates, permissions and errors as the pages, as JSON."""
