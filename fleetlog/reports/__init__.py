"""Views, templates and charts: what the log says, as pages that open from disk with no network."""

from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import render_pages
from fleetlog.reports.writing import write_reports

__all__ = ["ReportContext", "render_pages", "write_reports"]
