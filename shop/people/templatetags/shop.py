"""Template tags known to every template."""

from django import template

register = template.Library()
