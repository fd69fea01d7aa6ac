"""Views, templates and charts for the HTML pages."""
