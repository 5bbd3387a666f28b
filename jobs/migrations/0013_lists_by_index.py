
from django.db import migrations, models
from django.db.models import Exists, OuterRef, Subquery

# As `jobs.notices.URGENCY` had them when the column was made.
URGENCY = ('non-conformance', 'repair', 'check-failed', 'lift-off-due', 'restressing-due', 'strength-reached',
           'review-wanted', 'visit-planned', 'piece-late', 'calibration-due')


def carry(apps, schema_editor):
    """Each piece its order's day and whether that is put away, each notice its place and its roles."""
    order, piece, notice = (apps.get_model('jobs', name) for name in ('Order', 'Piece', 'Notice'))
    of_piece = order.objects.filter(designs__pieces=OuterRef('pk'))
    piece.objects.update(
        order_due=Subquery(of_piece.values('due_date')[:1]),
        order_away=Exists(of_piece.filter(archived_at__isnull=False)),
    )
    for row in notice.objects.order_by('pk').iterator(chunk_size=500):
        notice.objects.filter(pk=row.pk).update(
            urgency=URGENCY.index(row.kind) if row.kind in URGENCY else len(URGENCY),
            for_manager='manager' in row.roles,
            for_engineer='engineer' in row.roles,
            for_crew='crew' in row.roles,
        )


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0012_curing_beds'),
    ]

    operations = [
        migrations.AddField(
            model_name='notice',
            name='for_crew',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='notice',
            name='for_engineer',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='notice',
            name='for_manager',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='notice',
            name='urgency',
            field=models.PositiveSmallIntegerField(default=0),
        ),
        migrations.AddField(
            model_name='piece',
            name='order_away',
            field=models.BooleanField(default=False, editable=False),
        ),
        migrations.AddField(
            model_name='piece',
            name='order_due',
            field=models.DateField(blank=True, editable=False, null=True),
        ),
        migrations.RunPython(carry, migrations.RunPython.noop),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('for_manager', True), ('over_at', None)), fields=['urgency', 'made_at', 'id'], name='notice_for_manager'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('for_engineer', True), ('over_at', None)), fields=['urgency', 'made_at', 'id'], name='notice_for_engineer'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('for_crew', True), ('over_at', None)), fields=['urgency', 'made_at', 'id'], name='notice_for_crew'),
        ),
        migrations.AddIndex(
            model_name='order',
            index=models.Index(condition=models.Q(('archived_at', None)), fields=['due_date', 'id'], name='order_by_due_date'),
        ),
        migrations.AddIndex(
            model_name='piece',
            index=models.Index(condition=models.Q(('order_away', False)), fields=['stage', 'order_due', 'design', 'serial'], name='piece_first_due'),
        ),
        migrations.AddIndex(
            model_name='piece',
            index=models.Index(condition=models.Q(('order_away', False), ('stage', 'installed')), fields=['-stage_since', '-id'], name='piece_newest_installed'),
        ),
        migrations.AddIndex(
            model_name='piece',
            index=models.Index(condition=models.Q(('order_away', False), ('stage__in', ('ordered', 'designed', 'released', 'formed'))), fields=['pour_planned', 'id'], name='piece_pour_planned'),
        ),
        migrations.AddIndex(
            model_name='pour',
            index=models.Index(fields=['at'], name='pour_by_time'),
        ),
        migrations.AddIndex(
            model_name='strengthtest',
            index=models.Index(fields=['at'], name='strength_test_by_time'),
        ),
        migrations.AddIndex(
            model_name='temperaturelog',
            index=models.Index(fields=['recorded_at'], name='temperatures_by_time'),
        ),
    ]
