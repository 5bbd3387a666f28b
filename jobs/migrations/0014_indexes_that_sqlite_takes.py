from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0013_lists_by_index'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='notice',
            name='notice_for_manager',
        ),
        migrations.RemoveIndex(
            model_name='notice',
            name='notice_for_engineer',
        ),
        migrations.RemoveIndex(
            model_name='notice',
            name='notice_for_crew',
        ),
        migrations.RemoveIndex(
            model_name='piece',
            name='piece_newest_installed',
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('for_manager', True)), fields=['over_at', 'urgency', 'made_at', 'id'], name='notice_manager_first'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('for_engineer', True)), fields=['over_at', 'urgency', 'made_at', 'id'], name='notice_engineer_first'),
        ),
        migrations.AddIndex(
            model_name='notice',
            index=models.Index(condition=models.Q(('for_crew', True)), fields=['over_at', 'urgency', 'made_at', 'id'], name='notice_crew_first'),
        ),
        migrations.AddIndex(
            model_name='piece',
            index=models.Index(condition=models.Q(('order_away', False), ('stage', 'installed')), fields=['stage', '-stage_since', '-id'], name='piece_installed_last'),
        ),
        migrations.AddIndex(
            model_name='piece',
            index=models.Index(condition=models.Q(('order_away', False)), fields=['pour', 'stage'], name='piece_of_pour'),
        ),
    ]
