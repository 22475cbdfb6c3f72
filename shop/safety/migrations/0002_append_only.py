from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("safety", "0001_initial")]

    operations = [
        append_only("safety_suppliersheet", "A supplier's sheet"),
        append_only("safety_suppliersheetwithdrawn", "The withdrawal of a supplier's sheet"),
        append_only("safety_sheetversion", "An approved sheet"),
        append_only("safety_sheetwithdrawn", "The withdrawal of a sheet"),
        append_only("safety_sheetread", "That somebody read a sheet"),
        append_only("safety_incident", "A report"),
        append_only("safety_incidentnote", "What came of a report"),
    ]
