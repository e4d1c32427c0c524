import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = []

    operations = [
        migrations.CreateModel(
            name="Log",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("name", models.CharField(max_length=64)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("main", "in earnest"),
                            ("rehearsal", "rehearsal"),
                            ("register", "changes of register and policy"),
                        ],
                        max_length=16,
                    ),
                ),
                ("origin", models.CharField(max_length=400, unique=True)),
                ("size", models.BigIntegerField(default=0)),
                ("created", models.BigIntegerField()),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("jurisdiction", "name"), name="custody_log_once")],
            },
        ),
        migrations.CreateModel(
            name="Checkpoint",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "log_id", "size", blank=True, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("size", models.BigIntegerField()),
                ("root", models.BinaryField()),
                ("note", models.TextField()),
                ("created", models.BigIntegerField()),
                (
                    "log",
                    models.ForeignKey(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="custody.log"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Line",
            fields=[
                (
                    "pk",
                    models.CompositePrimaryKey(
                        "log_id", "seq", blank=True, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("seq", models.BigIntegerField()),
                ("received", models.BigIntegerField()),
                ("entry_id", models.CharField(max_length=36, null=True)),
                ("body", models.TextField()),
                ("nodes", models.BinaryField()),
                (
                    "log",
                    models.ForeignKey(
                        db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="custody.log"
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(
                        condition=models.Q(("entry_id__isnull", False)),
                        fields=["log", "entry_id", "seq"],
                        name="custody_line_entry",
                    )
                ],
            },
        ),
    ]
