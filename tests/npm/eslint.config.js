// What every piece of JavaScript here is held to; run from the top folder, as package.json does.
import js from "@eslint/js";
import globals from "globals";

/** Ways in which text would become markup. */
const BANNED = ["innerHTML", "outerHTML", "insertAdjacentHTML", "write", "srcdoc"].map((name) => ({
  selector: `MemberExpression[property.name="${name}"]`,
  message: `${name} makes markup of text; use textContent.`,
}));

export default [
  { ignores: ["**/node_modules/**"] },
  js.configs.recommended,
  {
    languageOptions: { ecmaVersion: 2020, sourceType: "module" },
    linterOptions: { reportUnusedDisableDirectives: "error" },
    rules: {
      complexity: ["error", 10],
      curly: ["error", "multi-line"],
      eqeqeq: "error",
      "max-lines": ["error", 500],
      "no-console": "error",
      "no-eval": "error",
      "no-implied-eval": "error",
      "no-new-func": "error",
      "no-param-reassign": "error",
      "no-restricted-syntax": ["error", ...BANNED],
      "no-shadow": "error",
      "no-use-before-define": ["error", { functions: false }],
      "no-var": "error",
      "object-shorthand": "error",
      "prefer-const": "error",
      "prefer-template": "error",
    },
  },
  { files: ["striplay/page/**", "striplay/table/**"], languageOptions: { globals: globals.browser } },
  { files: ["tests/npm/**"], languageOptions: { ecmaVersion: 2022, globals: globals.node }, rules: { "no-console": "off" } },
];
