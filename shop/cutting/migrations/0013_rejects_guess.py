from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [("cutting", "0012_cut_before_it_came")]

    operations = [
        migrations.AddField(
            model_name="planfigures",
            name="rejects_guess",
            field=models.FloatField(blank=True, null=True, verbose_name="share of sides rejected, as expected"),
        ),
        migrations.AddConstraint(
            model_name="planfigures",
            constraint=models.CheckConstraint(
                condition=Q(rejects_guess__isnull=True) | Q(rejects_guess__gt=0, rejects_guess__lt=1),
                name="cutting_rejects_guess_is_a_share",
            ),
        ),
    ]
