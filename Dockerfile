# labelkit in a container, for who prefers one. How to run it: docs/install.md.
# Where no container runtime is, `tools/docker-steps.py make /records --all` takes the same steps.
FROM debian:trixie-slim

# cups-ipp-utils: ipptool, with which `labelkit print` speaks to printers.
RUN apt-get update -qq \
 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
      ca-certificates cups-ipp-utils python3 python3-venv \
 && rm -rf /var/lib/apt/lists/*

# What changes seldom goes first: a step is taken anew only where what it copies has changed.
ENV PIP_DISABLE_PIP_VERSION_CHECK=1 PIP_NO_CACHE_DIR=1
COPY requirements /src/requirements
RUN python3 -m venv /opt/labelkit \
 && /opt/labelkit/bin/pip install -q -r /src/requirements/runtime.txt

COPY LICENSE README.md pyproject.toml /src/
COPY labelkit /src/labelkit
COPY layouts /src/layouts
COPY locales /src/locales
COPY samples /src/samples
RUN PIP_CONSTRAINT=/src/requirements/tests.txt \
    /opt/labelkit/bin/pip install -q --no-deps /src \
 && rm -r /src

# Records come in read-only and artwork goes out: `docker run --user` names whose files they are.
RUN useradd --create-home labelkit \
 && mkdir /artwork \
 && chown labelkit: /artwork
ENV PATH=/opt/labelkit/bin:/usr/local/bin:/usr/bin:/bin LANG=C.UTF-8
USER labelkit
WORKDIR /artwork
ENTRYPOINT ["labelkit"]
CMD ["--help"]
