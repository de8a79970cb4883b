// eslint.config.mjs - what the linter holds. Packages are in the build folder, not here.
import { createRequire } from "node:module";

const require = createRequire(`${process.env.STILLROOM_BUILD}/browser/package.json`);
const js = require("@eslint/js");
const globals = require("globals");

const rules = {
    ...js.configs.recommended.rules,
    eqeqeq: "error",
    "no-var": "error",
    "prefer-const": "error",
    "no-implicit-coercion": "error",
    "no-console": "error",
    "no-alert": "error",
    "no-eval": "error",
    "no-shadow": "error",
    "no-unused-vars": ["error", { argsIgnorePattern: "^_" }],
    "max-lines": ["error", 500],
    "max-lines-per-function": ["error", { max: 110, skipComments: true, skipBlankLines: true }],
};

export default [
    {
        files: ["src/**/*.js"],
        languageOptions: { ecmaVersion: 2023, sourceType: "module", globals: globals.browser },
        rules,
    },
    {
        files: ["*.mjs"],
        languageOptions: { ecmaVersion: 2023, sourceType: "module", globals: globals.node },
        rules,
    },
];
