import { defineConfig } from "vite";

// The server allows scripts and styles from its own address only, so nothing is put
// into the page itself: no inlined pictures, no inlined module loader.
export default defineConfig({
  base: "./",
  build: {
    outDir: "../src/sumpwright/web/static",
    emptyOutDir: true,
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    reportCompressedSize: true,
  },
});
