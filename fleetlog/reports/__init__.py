"""Views, templates and charts: what the log says, as pages that open from disk with no network.

`rendering` makes them, a part of the fleet at a time, `writing.write_reports` writes them, and
`context.ReportContext` signs them.
"""
