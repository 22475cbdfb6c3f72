from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("stock", "0011_remark_money"),
    ]

    operations = [
        migrations.AlterField(
            model_name="lot",
            name="unit_cost",
            field=models.DecimalField(blank=True, decimal_places=10, max_digits=16, null=True),
        ),
        migrations.AlterField(
            model_name="orderline",
            name="unit_cost",
            field=models.DecimalField(blank=True, decimal_places=10, max_digits=16, null=True),
        ),
    ]
