import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop.appendonly import append_only


class Migration(migrations.Migration):

    dependencies = [
        ('safety', '0004_binders'),
        ('training', '0006_step_editions_append_only'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='ReadAgain',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('sheet_version', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='safety.sheetversion')),
                ('step', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='training.step')),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.CreateModel(
            name='SelfSigning',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('step', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='training.step')),
            ],
            options={
                'ordering': ['-id'],
            },
        ),
        migrations.CreateModel(
            name='TrainingRules',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('keep_years', models.PositiveSmallIntegerField(default=10)),
                ('version', models.PositiveIntegerField(default=1)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('pk', 1)), name='training_rules_one_row')],
            },
        ),
        append_only("training_selfsigning", "A refused signature"),
        append_only("training_readagain", "A reading"),
    ]
