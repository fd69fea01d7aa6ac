"""Views, templates and charts: what the log says, as pages that open from disk with no network.

`writing.write_reports` writes them, `rendering.render_pages` makes them, `context.ReportContext` signs them.
"""
