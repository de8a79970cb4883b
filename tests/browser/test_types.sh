#!/bin/bash
# test_types.sh BUILD - the pages' types and style hold.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
web=$(realpath "$here/../../web")
modules=$STILLROOM_BUILD/browser/node_modules
cat > "$STILLROOM_BUILD/browser/tsconfig.json" <<END
{
  "extends": "$web/tsconfig.json",
  "compilerOptions": { "paths": { "*": ["$STILLROOM_BUILD/web/node_modules/*"] } },
  "include": ["$web/src/**/*.js"]
}
END
node "$modules/typescript/bin/tsc" -p "$STILLROOM_BUILD/browser/tsconfig.json" || exit 1
cd "$web" && node "$modules/eslint/bin/eslint.js" --max-warnings 0 .
