import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop.appendonly import append_only


def starter_reason_speaks_of_the_edge(apps, editor):
    reasons = apps.get_model("cutting", "RejectReason").objects
    reasons.filter(name="Tip chipped or dragged", blame="stylus").update(blame="edge")


class Migration(migrations.Migration):
    dependencies = [
        ("cutting", "0002_append_only"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AlterField(
            model_name="rejectreason",
            name="blame",
            field=models.CharField(
                choices=[
                    ("blank", "the blank"),
                    ("stylus", "the stylus"),
                    ("edge", "the stylus, its edge chipped"),
                    ("other", "something else"),
                ],
                default="other",
                max_length=8,
            ),
        ),
        migrations.RunPython(starter_reason_speaks_of_the_edge, migrations.RunPython.noop),
        migrations.CreateModel(
            name="EdgeLook",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                ("seen", models.CharField(max_length=300, verbose_name="what was seen")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "life",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="looks", to="cutting.life"
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-id"],
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("seen", ""), _negated=True), name="cutting_look_says_what")
                ],
            },
        ),
        append_only("cutting_edgelook", "A look at an edge"),
    ]
