// Bundles the page's code and style into built/walk.js and built/walk.css.
import { build } from "esbuild";

await build({
  entryPoints: { walk: "source/main.tsx" },
  outdir: "built",
  bundle: true,
  minify: true,
  format: "iife",
  target: ["es2022", "safari16"],
  jsx: "automatic",
  jsxImportSource: "preact",
  legalComments: "eof",
  charset: "utf8",
  logLevel: "warning",
});
