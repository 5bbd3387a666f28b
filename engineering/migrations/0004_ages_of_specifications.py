from django.db import migrations, models


def read_out(apps, schema_editor):
    """The ages and the strength of every specification there is, out of its document."""
    from engineering.core.contract import parse
    from engineering.core.contract.refusal import SpecificationRefused

    kind = apps.get_model("engineering", "Specification")
    for row in kind.objects.order_by("pk").iterator(chunk_size=200):
        try:
            piece = parse(row.document)
        except SpecificationRefused:        # an older contract took it in; nothing is dated by it
            continue
        stressing = piece.stressing if piece.rods else None
        kind.objects.filter(pk=row.pk).update(
            stressing_age_days=stressing.age_days if stressing else None,
            stressing_psi=piece.concrete.strength_at_stressing_psi if stressing else None,
            restress_days=','.join(f'{age!r}' for age in piece.stressing.restress_days) if piece.stressing else '',
        )


class Migration(migrations.Migration):

    dependencies = [
        ('engineering', '0003_parts_worked_again'),
    ]

    operations = [
        migrations.AddField(
            model_name='specification',
            name='stressing_age_days',
            field=models.FloatField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='specification',
            name='stressing_psi',
            field=models.FloatField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name='specification',
            name='restress_days',
            field=models.CharField(blank=True, default='', editable=False, max_length=400),
            preserve_default=False,
        ),
        migrations.RunPython(read_out, migrations.RunPython.noop),
        migrations.AddIndex(
            model_name='specification',
            index=models.Index(fields=['stressing_age_days', 'restress_days'], name='specification_ages'),
        ),
    ]
