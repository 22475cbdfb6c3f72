from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("cutting", "0011_tip_radius_not_known")]

    operations = [
        migrations.AddField(
            model_name="stylus",
            name="before_s",
            field=models.PositiveIntegerField(
                blank=True, default=0, null=True, verbose_name="cut before it came"
            ),
        ),
    ]
