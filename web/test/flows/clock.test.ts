/** A case keeps its order whatever happens to the tablet's clock: the offset to the server's takes it up. */
import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it } from "vitest";

import { instantsOf } from "../../src/core/instant.ts";
import * as flows from "../../src/flows/index.ts";
import { lists } from "../../src/state/index.ts";
import { CODE, LIST, SLOT, SimulatedServer } from "../support/simulatedServer.ts";
import { freshDisk, testTablet, type TestTablet } from "../support/testTablet.ts";

const CASE = "demo_2026-11-25_KD4821_right";
const YEAR_MS = 365 * 86_400_000;

let server: SimulatedServer;
let tablet: TestTablet;

/** Lets everything that was begun come to its end. */
async function rest(): Promise<void> {
  for (let turn = 0; turn < 40; turn += 1) await new Promise((resolve) => setTimeout(resolve, 1));
}

beforeEach(async () => {
  server = await SimulatedServer.make();
  lists.value = [];
  tablet = testTablet(freshDisk(), server);
  await flows.start(tablet);
  await flows.enrol(CODE, "Tablet 1");
  await flows.sendNow();
  await rest();
  await flows.openSlot({ ...LIST, brief_ms: null, debrief_ms: null }, SLOT);
  await rest();
});

describe("a tablet", () => {
  it("keeps the offset of its clock while a case is open, unless the clock itself was set", async () => {
    server.now_ms = tablet.clock.wall_ms + 400;
    await flows.sendNow();
    const steady = await flows.recordStep(CASE, "machine-ready", {});
    expect(steady.event["clock"]).toMatchObject({ offset_ms: 0 });
    await rest();
    server.now_ms = tablet.clock.wall_ms + 3_600_000;
    await flows.sendNow();
    const set = await flows.recordStep(CASE, "machine-ready", {});
    expect(set.event["clock"]).toMatchObject({ offset_ms: 3_600_000 });
  });

  it("keeps the order of a case through a clock that is set back, before the server is heard and after", async () => {
    tablet.clock.pass(20_000);
    server.now_ms = tablet.clock.wall_ms;
    tablet.clock.wall_ms -= YEAR_MS;
    const unheard = await flows.recordStep(CASE, "machine-ready", {});
    expect(instantsOf(unheard.event["clock"])?.at_ms).toBe(server.now_ms);
    await flows.sendNow();
    const heard = await flows.recordStep(CASE, "machine-ready", {});
    expect(instantsOf(heard.event["clock"])?.at_ms).toBe(server.now_ms);
  });
});
