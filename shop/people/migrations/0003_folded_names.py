import unicodedata

from django.db import migrations


def fold(apps, editor):
    people = apps.get_model("people", "Person")
    for person in people.objects.all():
        for name in ("name", "email"):
            folded = " ".join(unicodedata.normalize("NFKC", getattr(person, name)).casefold().split())
            setattr(person, f"folded_{name}", folded[:160])
        person.save(update_fields=["folded_name", "folded_email"])


class Migration(migrations.Migration):
    dependencies = [("people", "0002_doors")]

    operations = [migrations.RunPython(fold, migrations.RunPython.noop)]
