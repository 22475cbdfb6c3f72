from django.db import migrations, models


def not_known(apps, schema_editor):
    """A radius of 0 was how "not known" was written down, and of a single stylus nothing but a slip."""
    apps.get_model("cutting", "StylusKind").objects.filter(tip_radius_um=0).update(tip_radius_um=None)
    apps.get_model("cutting", "Stylus").objects.filter(tip_radius_um=0).update(tip_radius_um=None)


class Migration(migrations.Migration):
    dependencies = [("cutting", "0010_overrulings_cover")]

    operations = [
        migrations.AlterField(
            model_name="styluskind",
            name="tip_radius_um",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.RunPython(not_known, migrations.RunPython.noop, elidable=True),
    ]
