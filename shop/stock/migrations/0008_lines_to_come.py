from django.db import migrations, models
from django.db.models import F, Q


def mark_open(apps, editor):
    """The lines of which something is still to come, in orders sent before it was kept with them."""
    lines = apps.get_model("stock", "OrderLine").objects
    lines.filter(order__state__in=["sent", "part"], arrived__lt=F("quantity")).update(is_open=True)


class Migration(migrations.Migration):
    dependencies = [
        ("stock", "0007_intakes"),
    ]

    operations = [
        migrations.AddField(
            model_name="orderline",
            name="is_open",
            field=models.BooleanField(default=False),
        ),
        migrations.RunPython(mark_open, migrations.RunPython.noop),
        migrations.AddIndex(
            model_name="orderline",
            index=models.Index(condition=Q(is_open=True), fields=["item"], name="stock_lines_to_come"),
        ),
        migrations.AddConstraint(
            model_name="orderline",
            constraint=models.CheckConstraint(
                condition=Q(is_open=False) | Q(arrived__lt=F("quantity")), name="stock_open_line_lacks_some"
            ),
        ),
    ]
