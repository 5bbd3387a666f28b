from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('reports', '0004_sharing_links'),
    ]

    operations = [
        migrations.AlterField(
            model_name='sharedaccess',
            name='outcome',
            field=models.CharField(choices=[('given', 'given'), ('revoked', 'refused: link revoked'), ('ended', 'refused: link ended'), ('not-chosen', 'refused: not in this link'), ('no-file', 'refused: file missing or altered'), ('silent', 'not given: the store of the files did not answer')], max_length=12),
        ),
    ]
