# Two images: `site` for web, worker and beat, `proxy` in front of it. Packages come from the lock by hash; nothing runs as root.
FROM python:3.11.14-slim-bookworm AS packages
ENV PIP_NO_CACHE_DIR=1 PIP_DISABLE_PIP_VERSION_CHECK=1
COPY requirements.txt /tmp/requirements.txt
RUN python -m venv /venv && /venv/bin/pip install --require-hashes --only-binary :all: -r /tmp/requirements.txt

FROM caddy:2.10.2-alpine AS proxy
# The copy sheds the file's capability to bind low ports, which a container without capabilities could not execute.
RUN cp /usr/bin/caddy /usr/bin/caddy.plain && mv /usr/bin/caddy.plain /usr/bin/caddy \
 && install -d -o 10002 -g 10002 -m 0700 /data /config
COPY .deploy/Caddyfile /etc/caddy/Caddyfile
USER 10002:10002
VOLUME /data /config
EXPOSE 8080 8443

FROM python:3.11.14-slim-bookworm AS site
RUN groupadd --system --gid 10001 shop \
 && useradd --system --uid 10001 --gid shop --home-dir /data --shell /usr/sbin/nologin shop \
 && install -d -o shop -g shop -m 0700 /data
COPY --from=packages /venv /venv
WORKDIR /app
COPY manage.py ./
COPY engineering engineering
COPY jobs jobs
COPY reports reports
ENV PATH=/venv/bin:$PATH \
    PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    OPENBLAS_NUM_THREADS=1 \
    CAMBERBOOK_SETUP=0 \
    CAMBERBOOK_DATA=/data \
    CAMBERBOOK_STATIC=/app/static
# A key for this one command: it signs nothing and is not kept.
RUN python -m compileall -q engineering jobs reports \
 && CAMBERBOOK_DATA=/tmp/build SECRET_KEY=only-for-collecting-files python manage.py collectstatic --no-input \
 && rm -rf /tmp/build
USER 10001:10001
VOLUME /data
EXPOSE 8000
CMD ["gunicorn", "--config", "python:jobs.site.gunicorn", "jobs.site.wsgi:application"]
