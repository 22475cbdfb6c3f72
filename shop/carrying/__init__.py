"""Lists carried away as CSV and XLSX files.

lists: what can be carried away; each app registers its own. writing: how a file is made. views: where it is fetched.
"""
