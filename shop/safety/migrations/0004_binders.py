import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
        ("safety", "0003_places"),
    ]

    operations = [
        migrations.CreateModel(
            name="Binder",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("paper", models.CharField(choices=[("A4", "A4"), ("Letter", "US Letter")], max_length=8)),
                ("opens", models.CharField(max_length=300)),
                ("asked_at", models.DateTimeField()),
                ("working_since", models.DateTimeField(blank=True, null=True)),
                ("done", models.PositiveSmallIntegerField(default=0)),
                ("of", models.PositiveSmallIntegerField(default=0)),
                ("made_at", models.DateTimeField(blank=True, null=True)),
                ("file", models.CharField(blank=True, max_length=40)),
                ("fingerprint", models.CharField(blank=True, max_length=20)),
                ("pages", models.PositiveSmallIntegerField(default=0)),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(("paper__in", ["A4", "Letter"])), name="safety_binder_paper_known"
                    ),
                    models.CheckConstraint(
                        condition=Q(Q(("file", ""), _negated=True), ("made_at", None), _connector="OR"),
                        name="safety_binder_made_has_a_file",
                    ),
                ],
            },
        ),
    ]
