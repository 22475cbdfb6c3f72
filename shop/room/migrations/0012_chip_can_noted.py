from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("room", "0011_refusal_since")]

    operations = [
        migrations.AddField(
            model_name="chipcan", name="handed_noted_at", field=models.DateTimeField(blank=True, null=True)
        ),
    ]
