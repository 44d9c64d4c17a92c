// The main job by the types openapi-typescript makes, against a running service.
//
//     node built/main_job.js ADDRESS KEY
import assert from "node:assert/strict";
import createClient from "openapi-fetch";
import type { components, paths } from "./api.js";

const [address, key] = process.argv.slice(2);
assert(address && key, "ADDRESS KEY");
const client = createClient<paths>({ baseUrl: address.replace(/\/$/, ""), headers: { "X-API-Key": key } });

const library = await client.GET("/v1/hulls");
assert(library.data);
const name = library.data.hulls[0]?.name;
assert(name);

const body: components["schemas"]["HydrostaticsRequest"] = {
  hull: { kind: "library", name },
  density_t_per_m3: 1.0,
  waterplanes: [{ draft_m: 3.5 }],
};
const particulars = await client.POST("/v1/hydrostatics", { body });
assert(particulars.data && typeof particulars.data !== "string"); // a string where ?format=csv is asked
const volume = particulars.data.columns.volume_m3[0];
assert(typeof volume === "number");
assert(Math.abs(volume - 60 * 12 * 3.5) < 1e-9); // the example barge is a box

const example = await client.GET("/v1/record-example");
assert(example.data);
const record = example.data as unknown as components["schemas"]["StabilityTest"];
const test = await client.POST("/v1/stability-tests", { body: record });
assert(test.data && typeof test.data !== "string", JSON.stringify(test.error));
const lightship = test.data.lightship;
assert("mass_t" in lightship && lightship.mass_t > 0);

const angle = await client.GET("/v1/cells/list", {
  params: { query: { heeling_moment_tm: 40, displacement_t: 2000, gm_m: 1.25 } },
  parseAs: "text",
});
assert(angle.data);
assert(Math.abs(Number(angle.data) - 0.9167) < 1e-3);

const refused = await client.POST("/v1/hydrostatics", { body: { ...body, waterplanes: [{ draft_m: 9 }] } });
assert(refused.error);
assert.equal(refused.error.type, "/problems/waterplane-above-hull");

const stranger = createClient<paths>({ baseUrl: address.replace(/\/$/, ""), headers: { "X-API-Key": "wrong" } });
assert.equal((await stranger.GET("/v1/hulls")).response.status, 401);
console.log(`TypeScript client: lightship ${lightship.mass_t.toFixed(2)} t`);
