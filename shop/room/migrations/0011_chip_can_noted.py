from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("room", "0010_gauge_temperatures")]

    operations = [
        migrations.AddField(
            model_name="chipcan", name="handed_noted_at", field=models.DateTimeField(blank=True, null=True)
        ),
    ]
