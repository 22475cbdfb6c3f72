from django.db import migrations

from shop.appendonly import append_only


class Migration(migrations.Migration):
    dependencies = [("log", "0001_initial")]

    operations = [
        append_only("log_note", "A note"),
        append_only("log_addressee", "Whom a note is for"),
        append_only("log_notelink", "What a note is about"),
        append_only("log_noteread", "That a note was read"),
    ]
