#!/bin/sh
# Entry of the container image. The database address holds a password, so it is mounted as a file and read here:
# the environment of a container is shown to anyone who may inspect it.
set -eu
secret=/run/secrets/database_url
if [ -z "${DATABASE_URL:-}" ] && [ -f "$secret" ]; then
  DATABASE_URL=$(cat "$secret")
  export DATABASE_URL
fi
exec "$@"
