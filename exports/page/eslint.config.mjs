import tseslint from "typescript-eslint";

export default tseslint.config(
  { ignores: ["built/**", "node_modules/**"] },
  ...tseslint.configs.strict,
  {
    rules: {
      "max-lines": ["error", 400],
      "max-lines-per-function": ["error", { max: 60, skipComments: true, skipBlankLines: true }],
      "@typescript-eslint/no-non-null-assertion": "off",
    },
  },
);
