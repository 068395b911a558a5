// @vitest-environment node
import { readFileSync } from "node:fs";
import openapiTS, { astToString, COMMENT_HEADER } from "openapi-typescript";
import { expect, it } from "vitest";

it("the types are those of the server's OpenAPI document: `npm run types` writes them", async () => {
  const document = new URL("openapi.json", import.meta.url);
  const written = readFileSync(new URL("schema.d.ts", import.meta.url), "utf-8");
  const generated = `${COMMENT_HEADER}${astToString(await openapiTS(document))}`;
  expect(written.trim()).toBe(generated.trim());
});
