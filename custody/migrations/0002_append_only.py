from django.db import migrations

from custody.models.append_only import AppendOnly


class Migration(migrations.Migration):
    dependencies = [("custody", "0001_log")]
    operations = [AppendOnly()]
