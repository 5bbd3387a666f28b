from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('jobs', '0016_open_notices_say_what_they_are_about'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='piece',
            index=models.Index(condition=models.Q(('order_away', False)), fields=['stage', 'pour_planned', 'id'], name='piece_stage_pour_planned'),
        ),
    ]
