"""Owners of recipes, who changed one, which are retired, and their versions."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

class Migration(migrations.Migration):

    dependencies = [
        ('scenarios', '0014_why_a_review_ended'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='recipe',
            name='changed_at',
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='recipe',
            name='changed_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='recipe',
            name='is_shared',
            field=models.BooleanField(default=True),
        ),
        migrations.AddField(
            model_name='recipe',
            name='owner',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='recipes', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='recipe',
            name='retired_on',
            field=models.DateField(blank=True, null=True),
        ),
        migrations.CreateModel(
            name='RecipeVersion',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('pass_marks_percent', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('pass_in_time_percent', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('no_unsafe_dose', models.BooleanField(default=False)),
                ('no_must_missed', models.BooleanField(default=False)),
                ('limit_over_baseline_s', models.FloatField(blank=True, null=True)),
                ('limit_at_rig_s', models.FloatField(blank=True, null=True)),
                ('cut_off_s', models.FloatField(blank=True, null=True)),
                ('rule_shown', models.BooleanField(default=True)),
                ('marks_writing', models.BooleanField(default=False)),
                ('version', models.PositiveIntegerField(default=1)),
                ('name', models.CharField(max_length=80)),
                ('mode', models.CharField(choices=[('practice', 'practice'), ('assessed', 'assessed')], default='practice', max_length=10)),
                ('kinds', models.CharField(max_length=200)),
                ('difficulty', models.PositiveSmallIntegerField(default=1)),
                ('layout_rule', models.CharField(default='rig today', max_length=20)),
                ('focus', models.JSONField(blank=True, default=list)),
                ('faces', models.JSONField(blank=True, default=list)),
                ('bags_only', models.BooleanField(default=False)),
                ('call_types', models.JSONField(blank=True, default=list)),
                ('patients_least', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('patients_most', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('depth', models.CharField(blank=True, max_length=10)),
                ('order', models.CharField(default='mixed', max_length=120)),
                ('probes_share', models.FloatField(default=0.0)),
                ('minutes', models.PositiveSmallIntegerField()),
                ('notes', models.CharField(blank=True, max_length=300)),
                ('changed_at', models.DateTimeField(blank=True, null=True)),
                ('changed_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('recipe', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='versions', to='scenarios.recipe')),
            ],
            options={
                'ordering': ['recipe', '-version'],
                'constraints': [models.UniqueConstraint(fields=('recipe', 'version'), name='one_recipe_per_version')],
            },
        ),
    ]
