// The main story, told in TypeScript with the types that were generated from the contract: publish, describe, ask, read.
//
//     node story.js ADDRESS KEY
import { randomUUID } from "node:crypto";
import createClient from "openapi-fetch";
import type { components, paths } from "./traybridge.js";

type Schemas = components["schemas"];

const content: Schemas["StorageSystemContentInput"] = {
  cabinets: [
    {
      code: "steel", name: "Steel cabinet", count: 40,
      opening: { width: 486, depth: 425, height: 1985 },
      pitch: "3 1/4 in", support: "side_runners", runner_ledge: 12, runners_removable: false,
      doorway: "clears_opening", free_positions: 400,
    },
  ],
  drawers: [{ code: "own", name: "Own drawer", inner: { width: 450, depth: 388, height: 61 } }],
  tray_series: [
    {
      code: "own", name: "Own trays", play_mm: 0.5,
      trays: [{ code: "half", name: "Half", outer: { width: 99.5, depth: 96.5, height: 41 } }],
    },
  ],
  materials: { accepted_bottoms: ["polyethylene_foam"], treatments: ["freezing"] },
  growth_reserve_percent: 20,
  lid_air_gap_mm: 3,
};

const lines: Schemas["LineInput"][] = [
  {
    container: "drawer", count: 60, description: "Home-built drawers, too wide for the cabinets",
    outer: { width: 500, depth: 400, height: "60 mm" },
    inner: { width: 478, depth: 378, height: 50 },
    trays: [
      {
        count: 1440, outer: { width: 110, depth: 60, height: 40 }, base: 2,
        bottom: { material: "polyethylene_foam", thickness: 6, glued_firmly: true },
      },
    ],
    pins: { length: 38, depth: 6, metal: "stainless_steel" },
    treatments_used: ["freezing"], closure: "flanged_lid", pest_signs: "none_seen", specimens: 11800,
  },
  { container: "drawer", count: 5, description: "Nobody has seen them yet" },
];

const [address, key] = process.argv.slice(2);
const client = createClient<paths>({ baseUrl: address, headers: { Authorization: `Bearer ${key}` } });

// What was answered, as JSON; some operations answer in plain text too, when they are asked to.
function told<Answer>(answered: { data?: Answer; error?: Schemas["Problem"]; response: Response }) {
  if (answered.data === undefined || typeof answered.data === "string") {
    throw new Error(`${answered.response.status}: ${answered.error?.detail ?? answered.data}`);
  }
  return answered.data as Exclude<Answer, string>;
}

function same(found: unknown, expected: unknown): void {
  if (JSON.stringify(found) !== JSON.stringify(expected)) {
    throw new Error(`${JSON.stringify(found)} instead of ${JSON.stringify(expected)}`);
  }
}

const system = told(
  await client.POST("/v1/storage-systems", {
    body: { code: `typescript-${randomUUID().slice(0, 8)}`, name: "Main hall", visibility: "members" },
  }),
);
const drafted = await client.POST("/v1/storage-systems/{system_id}/revisions", {
  params: { path: { system_id: system.id } },
  body: { content },
});
const published = told(
  await client.POST("/v1/storage-systems/{system_id}/revisions/{number}/publication", {
    params: {
      path: { system_id: system.id, number: told(drafted).number },
      header: { "If-Match": drafted.response.headers.get("ETag") ?? "" },
    },
  }),
);
same(published.state, "published");

const consignment = told(
  await client.POST("/v1/consignments", {
    body: {
      code: `typescript-${randomUUID().slice(0, 8)}`, kind: "gift", sender: { name: "Orla Fennimore" }, lines,
    },
  }),
);
const asked = told(
  await client.POST("/v1/fit-checks", { body: { consignment_id: consignment.id, storage_system_id: system.id } }),
);
const check = told(
  await client.GET("/v1/fit-checks/{fit_check_id}", { params: { path: { fit_check_id: asked.id } } }),
);
const verdicts: Schemas["LineAnswer"]["verdict"][] = check.answer.lines.map((line) => line.verdict);
same(verdicts, ["by_the_tray", "hold"]);
const nothing = await client.GET("/v1/fit-checks/{fit_check_id}", {
  params: { path: { fit_check_id: randomUUID() } },
});
same([nothing.response.status, nothing.error?.type], [404, "/problems/not-found"]);
console.log("typescript: by_the_tray, hold");
