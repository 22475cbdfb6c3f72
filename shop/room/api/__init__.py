"""How instruments report by themselves: a small JSON interface, described in OpenAPI 3.1 at api/openapi.json.

It knows no cookies and no sign-in: each request carries an instrument's token, which may write that instrument's own
readings and nothing else.
"""
