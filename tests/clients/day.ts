// A day's work with the generated TypeScript types: `node day.js ADDRESS TOKEN` prints what it was answered.
import createClient from "openapi-fetch";
import type { components, paths } from "./fleet.js";

type Visit = components["schemas"]["Visit"];

const [address, token] = process.argv.slice(2);
const client = createClient<paths, "application/json" | "application/problem+json">({ baseUrl: address!, headers: { Authorization: `Bearer ${token}` } });

const visit: Visit = {
  id: "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b78",
  unit: "GU-0007",
  kind: "maintenance",
  technician: "rhea",
  arrived_at: "2026-06-09T13:05:00-06:00",
  readings: [
    { quantity: "bath_temperature", value: "47 degF", when: "as_found", at: "2026-06-09T13:10:00-06:00" },
    { quantity: "glycol_strength", value: { value: 12, unit: "Brix" }, when: "as_found" },
  ],
  tasks: [{ task: "condenser_clean", result: "done", as_found: "blocked" }],
  outcome: "recovering",
};

function answered<T>(answer: { data?: T; error?: { detail: string } }): T {
  if (answer.data === undefined) throw new Error(answer.error?.detail);
  return answer.data;
}

const listed = answered(await client.GET("/v1/pm-list"));
const posted = answered(await client.POST("/v1/visits", { body: visit }));
const taken = answered(
  await client.POST("/v1/calls", {
    body: {
      id: "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c02",
      received_at: "2026-06-09T14:20:00-06:00",
      unit: "GU-0007",
      symptom: "warm_pour",
      by: { name: "Ida, bar" },
    },
  }),
);
const year = answered(
  await client.GET("/v1/customers/{code}/service-summaries/{year}", {
    params: { path: { code: "lantern", year: 2026 } },
  }),
);
const wrong = await client.POST("/v1/visits", { body: { ...visit, unit: "GU-9", arrived_at: "x" } });

console.log(
  JSON.stringify({
    due: listed.stops.flatMap((stop) => stop.items.map((item) => item.unit)),
    findings: Object.fromEntries(posted.assessment.findings.map((each) => [each.code, each.severity])),
    due_items: posted.due_items.map((item) => item.task),
    call: [taken.id, taken.state],
    year: year.year,
    refusal: wrong.error?.status,
  }),
);
