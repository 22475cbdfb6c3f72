"""Empty files of each kind, to be filled in and sent."""

from shop.stock.sheets.columns import Column, Sheet


def template_csv(sheet: Sheet) -> bytes:
    """An empty file of a kind, with its headings."""
    import tablib

    made: str = tablib.Dataset(headers=[column.heading for column in sheet.columns]).export("csv")
    return b"\xef\xbb\xbf" + made.encode()


def template_xlsx(sheet: Sheet) -> bytes:
    """An empty workbook of a kind: its headings, and on a second sheet what they mean."""
    import tablib

    empty = tablib.Dataset(headers=[column.heading for column in sheet.columns], title=sheet.kind.label)
    told = tablib.Dataset(
        *[_told(column) for column in sheet.columns],
        headers=["Heading", "Needed", "What goes in", "For example"],
        title="What the headings mean",
    )
    made: bytes = tablib.Databook([empty, told]).export("xlsx")
    return made


def _told(column: Column) -> tuple[str, str, str, str]:
    return column.heading, "yes" if column.needed else "no", column.means, column.example
