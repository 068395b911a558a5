import preact from "@preact/preset-vite";
import { VitePWA } from "vite-plugin-pwa";
import { defineConfig } from "vitest/config";
import { pianoSamples } from "./plugins/samples.ts";

/** Where `npm run dev` finds the server that `counterpane serve` started. */
const SERVER = "http://127.0.0.1:8000";

export default defineConfig({
  plugins: [
    preact(),
    pianoSamples(),
    VitePWA({
      strategies: "injectManifest",
      srcDir: "src/sw",
      filename: "sw.ts",
      registerType: "prompt",
      injectRegister: false,
      injectManifest: {
        // Sound is fetched after the first screen and kept by the worker's own route (src/sw/sw.ts).
        globPatterns: ["**/*.{js,css,html,svg,webmanifest}", "icon-*.png"],
      },
      manifest: {
        id: "/",
        name: "Counterpane",
        short_name: "Counterpane",
        description: "Practise a piece in two parts, patch by patch.",
        start_url: "/",
        scope: "/",
        display: "standalone",
        background_color: "#f4efe6",
        theme_color: "#1f3347",
        icons: [
          { src: "icon.svg", sizes: "any", type: "image/svg+xml" },
          { src: "icon-192.png", sizes: "192x192", type: "image/png" },
          { src: "icon-512.png", sizes: "512x512", type: "image/png" },
          { src: "icon-maskable-512.png", sizes: "512x512", type: "image/png", purpose: "maskable" },
        ],
      },
    }),
  ],
  define: { __APP_VERSION__: JSON.stringify(process.env.npm_package_version ?? "") },
  build: { target: "es2022", assetsInlineLimit: 0 },
  server: { proxy: { "/api": SERVER } },
  test: { environment: "happy-dom", setupFiles: ["src/test-setup.ts"], include: ["src/**/*.test.{ts,tsx}"] },
});
