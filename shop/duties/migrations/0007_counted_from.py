from django.db import migrations, models
from django.db.models import Sum


def fill(apps, editor):
    """All that ever came about on a meter, and where each duty began to count."""
    tick, meter, duty = (apps.get_model("duties", name) for name in ("Tick", "Meter", "Duty"))
    for one in meter.objects.all():
        one.total = tick.objects.filter(meter=one).aggregate(sum=Sum("came"))["sum"] or 0
        one.save(update_fields=["total"])
    for one in duty.objects.filter(meter__isnull=False).select_related("meter"):
        one.counted_from = one.meter.total - one.counted
        one.save(update_fields=["counted_from"])


class Migration(migrations.Migration):
    dependencies = [("duties", "0006_amiss_quantities")]

    operations = [
        migrations.AddField("meter", "total", models.BigIntegerField(default=0)),
        migrations.AddField("duty", "counted_from", models.BigIntegerField(default=0)),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.RemoveField("duty", "counted"),
    ]
