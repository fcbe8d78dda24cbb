#!/usr/bin/env bash
# Check the types of the scripts of the pages. Needs npx (of Node.js), which fetches TypeScript.
set -euo pipefail
cd "$(dirname "$0")"

TYPESCRIPT=${TYPESCRIPT:-typescript@5.9.3}

if ! command -v npx >/dev/null; then
    echo "npx is missing: the types of the scripts are NOT checked (sudo apt-get install nodejs npm)" >&2
    if [ -n "${CI:-}" ]; then exit 1; fi
    exit 0
fi
npx --yes --package "$TYPESCRIPT" tsc --project jsconfig.json
