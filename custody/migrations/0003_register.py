from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("custody", "0002_append_only"),
    ]

    operations = [
        migrations.CreateModel(
            name="Assignment",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("election", models.CharField(max_length=64)),
                ("person", models.CharField(max_length=64)),
                ("role", models.CharField(max_length=32)),
                ("site", models.CharField(blank=True, max_length=64)),
            ],
            options={
                "indexes": [models.Index(fields=["election", "site"], name="custody_assignment_site")],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("jurisdiction", "election", "person", "role", "site"), name="custody_assignment_own"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Election",
            fields=[
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("code", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                ("date", models.CharField(max_length=10)),
                ("timezone", models.CharField(max_length=64)),
                ("polls_open", models.BigIntegerField()),
                ("polls_close", models.BigIntegerField()),
                ("return_deadline", models.BigIntegerField()),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("jurisdiction", "code"), name="custody_election_own")],
            },
        ),
        migrations.CreateModel(
            name="Item",
            fields=[
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("code", models.CharField(max_length=8, primary_key=True, serialize=False)),
                ("kind", models.CharField(max_length=32)),
                ("description", models.TextField(blank=True)),
                ("serial", models.TextField(blank=True)),
                ("tag", models.TextField(blank=True)),
                ("home_site", models.CharField(blank=True, max_length=64)),
                ("seal_points", models.JSONField(default=list)),
                ("opens", models.JSONField(default=list)),
            ],
            options={
                "indexes": [
                    models.Index(
                        condition=models.Q(("tag", ""), _negated=True),
                        fields=["jurisdiction", "tag"],
                        name="custody_item_tag",
                    )
                ],
                "constraints": [models.UniqueConstraint(fields=("jurisdiction", "code"), name="custody_item_own")],
            },
        ),
        migrations.CreateModel(
            name="Jurisdiction",
            fields=[
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("code", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("name", models.TextField()),
                ("timezone", models.CharField(max_length=64)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("jurisdiction", "code"), name="custody_jurisdiction_own")
                ],
            },
        ),
        migrations.CreateModel(
            name="Key",
            fields=[
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("keyid", models.CharField(max_length=64, primary_key=True, serialize=False)),
                ("person", models.CharField(max_length=64)),
                ("public_key", models.CharField(max_length=44)),
                ("valid_from", models.BigIntegerField(null=True)),
                ("valid_until", models.BigIntegerField(null=True)),
                ("revoked_at", models.BigIntegerField(null=True)),
            ],
            options={
                "indexes": [models.Index(fields=["jurisdiction", "person"], name="custody_key_person")],
                "constraints": [models.UniqueConstraint(fields=("jurisdiction", "keyid"), name="custody_key_own")],
            },
        ),
        migrations.CreateModel(
            name="Kit",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("election", models.CharField(max_length=64)),
                ("site", models.CharField(max_length=64)),
                ("item", models.CharField(max_length=8)),
            ],
            options={
                "indexes": [models.Index(fields=["election", "site"], name="custody_kit_site")],
                "constraints": [
                    models.UniqueConstraint(fields=("jurisdiction", "election", "item"), name="custody_kit_own")
                ],
            },
        ),
        migrations.CreateModel(
            name="Person",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("code", models.CharField(max_length=64)),
                ("affiliation", models.TextField(blank=True)),
                ("name_commitment", models.CharField(blank=True, max_length=64)),
                ("phone_commitment", models.CharField(blank=True, max_length=64)),
            ],
            options={
                "verbose_name_plural": "people",
                "constraints": [models.UniqueConstraint(fields=("jurisdiction", "code"), name="custody_person_own")],
            },
        ),
        migrations.CreateModel(
            name="PersonalValue",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("person", models.CharField(max_length=64)),
                ("field", models.CharField(choices=[("name", "Name"), ("phone", "Phone")], max_length=16)),
                ("value", models.TextField()),
                ("salt", models.BinaryField(max_length=16)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("jurisdiction", "person", "field"), name="custody_personal_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="PolicyVersion",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("valid_from", models.BigIntegerField()),
                ("document", models.JSONField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("jurisdiction", "valid_from"), name="custody_policy_own")
                ],
            },
        ),
        migrations.CreateModel(
            name="SealLot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("maker", models.TextField()),
                ("seal_class", models.CharField(blank=True, max_length=1)),
                ("lot", models.TextField()),
                ("prefix", models.TextField(blank=True)),
                ("first", models.BigIntegerField()),
                ("last", models.BigIntegerField()),
                ("width", models.SmallIntegerField()),
                ("issued_to", models.CharField(blank=True, max_length=64)),
                ("election", models.CharField(blank=True, max_length=64)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("jurisdiction", "maker", "lot", "prefix", "first"), name="custody_seal_lot_own"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("jurisdiction", models.CharField(max_length=64)),
                ("line", models.BigIntegerField()),
                ("retired", models.BooleanField(default=False)),
                ("code", models.CharField(max_length=64)),
                ("name", models.TextField()),
                ("kind", models.CharField(max_length=32)),
                ("address", models.TextField(blank=True)),
                ("phone", models.TextField(blank=True)),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("jurisdiction", "code"), name="custody_site_own")],
            },
        ),
    ]
