/** A tablet's life through the real flows: enrolled, recording with and without a network, signed, lost and found. */
import "fake-indexeddb/auto";
import { beforeEach, describe, expect, it } from "vitest";

import { canonical } from "../../src/core/canonical.ts";
import { fromBase64url } from "../../src/core/encoding.ts";
import { jwkOf } from "../../src/core/entry.ts";
import { asText, type JsonObject } from "../../src/core/json.ts";
import { payloadText } from "../../src/core/jws.ts";
import { parse } from "../../src/core/strictJson.ts";
import { needObject } from "../../src/core/values.ts";
import { signerOf, webCrypto } from "../../src/device/crypto.ts";
import { Log } from "../../src/device/log.ts";
import * as flows from "../../src/flows/index.ts";
import {
  cases,
  device,
  keeping,
  lists,
  people,
  pinKeys,
  timeZone,
  unitValues,
  update,
} from "../../src/state/index.ts";
import { eventAt } from "../support/logs.ts";
import { CODE, LIST, SLOT, SimulatedServer } from "../support/simulatedServer.ts";
import { freshDisk, testTablet, type Disk, type TestTablet } from "../support/testTablet.ts";

const CASE = "demo_2026-11-25_KD4821_right";
const PIN = "402917";
const HELD = { lock_checked: true, hub_held: true };

let server: SimulatedServer;
let disk: Disk;
let tablet: TestTablet;

async function load(): Promise<void> {
  tablet = testTablet(disk, server);
  await flows.start(tablet);
}

async function openCase(): Promise<string> {
  const [list] = lists.value;
  return flows.openSlot(list ?? { ...LIST, brief_ms: null, debrief_ms: null }, list?.rows[0] ?? SLOT);
}

function deviceOf(): string {
  return [...server.logs.keys()].at(-1) ?? "";
}

/** Lets everything that was begun come to its end. */
async function rest(): Promise<void> {
  for (let turn = 0; turn < 40; turn += 1) await new Promise((resolve) => setTimeout(resolve, 1));
}

beforeEach(async () => {
  server = await SimulatedServer.make();
  disk = freshDisk();
  lists.value = [];
  await load();
  await flows.enrol(CODE, "Tablet 1");
  await flows.sendNow();
  await rest();
});

describe("a tablet", () => {
  it("is not enrolled before it has a certificate, and says what a wrong code means", async () => {
    disk = freshDisk();
    await load();
    expect(device.value.phase).toBe("not_enrolled");
    await expect(flows.enrol("WRONG", "Tablet 2")).rejects.toThrow("not in force");
    expect(device.value.phase).toBe("not_enrolled");
    expect(() => flows.recordStep(CASE, "machine-ready", {})).toThrow("not enrolled");
  });

  it("shows lists, people, unit values and time zone once it was in contact", () => {
    expect(device.value).toMatchObject({ phase: "ready", unit: "demo", name: "Tablet 1" });
    expect(lists.value).toMatchObject([{ list: LIST.list, brief_ms: null }]);
    expect(people.value).toEqual([{ code: "S07", role: "surgeon" }]);
    expect(unitValues.value).toMatchObject({ number: 3, values: { late_s: 60 } });
    expect(timeZone.value).toBe("Europe/London");
    expect(keeping.value).toMatchObject({ contact: "reached", persisted: true, problem: null });
  });

  it("records with the network off, keeps it through a new start, and sends it once", async () => {
    await openCase();
    await rest();
    server.weather = "down";
    await flows.recordStep(CASE, "machine-ready", {});
    await rest();
    expect(keeping.value).toMatchObject({ stored: 2, received: 1, contact: "cut" });
    await load();
    await flows.recordStep(CASE, "viscoelastic-fill", HELD, { ago_ms: 70_000, said_by: "surgeon" });
    expect(cases.value.get(CASE)?.caseFile.events).toHaveLength(2);
    expect(cases.value.get(CASE)?.receivedAll).toBe(false);
    server.weather = "fair";
    await flows.sendNow();
    expect(server.eventsOf(deviceOf()).map(({ type }) => type)).toEqual(["case_opened", "step", "step"]);
    expect(keeping.value).toMatchObject({ stored: 3, received: 3, contact: "reached" });
    expect(cases.value.get(CASE)?.receivedAll).toBe(true);
  });

  it("sends what is tapped while it is in contact without being asked", async () => {
    await openCase();
    await flows.recordStep(CASE, "machine-ready", {});
    await rest();
    expect(keeping.value).toMatchObject({ stored: 2, received: 2 });
  });

  it("takes nothing but its own server's receipt for an acknowledgement", async () => {
    server.weather = "portal";
    await openCase();
    await expect(flows.sendNow()).rejects.toThrow("not our server's");
    expect(keeping.value).toMatchObject({ stored: 1, received: 0, contact: "cut" });
    const other = await SimulatedServer.make();
    server.weather = "fair";
    const post = other.post.bind(other);
    Object.assign(tablet.server, { post });
    await expect(flows.sendNow()).rejects.toThrow();
    expect(keeping.value.received).toBe(0);
  });

  it("sends again after an answer that was lost, and the server has it once", async () => {
    server.weather = "lossy";
    await openCase();
    await rest();
    expect(keeping.value.received).toBe(0);
    server.weather = "fair";
    tablet.page.wake();
    await rest();
    expect(keeping.value.received).toBe(1);
    expect(server.eventsOf(deviceOf())).toHaveLength(1);
  });

  it("fills a server again that was set back", async () => {
    await openCase();
    for (let count = 0; count < 5; count += 1) await flows.recordStep(CASE, "machine-ready", {});
    await flows.sendNow();
    const held = server.logs.get(deviceOf()) ?? [];
    server.logs.set(deviceOf(), held.slice(0, 2));
    await flows.sendNow();
    expect(server.logs.get(deviceOf())).toEqual(held);
  });

  it("opens a slot once, however often it is asked to", async () => {
    await openCase();
    await openCase();
    await rest();
    expect(keeping.value.stored).toBe(1);
    expect(cases.value.get(CASE)?.meta).toMatchObject({
      on_list: true,
      list: LIST.list,
      unit_values_number: 3,
    });
  });

  it("opens a case that is on no list, and counts the day's only brief for it", async () => {
    const { order: _order, reference: _reference, ...plan } = SLOT;
    const caseId = await flows.openOffList({ date: "2026-11-25", reference: "ZZ99", plan, practice: true });
    await flows.recordOfList(LIST.list, "team-brief", {});
    const view = cases.value.get(caseId);
    expect(view?.meta).toMatchObject({ on_list: false, practice: true });
    expect(view?.caseFile.events.map((event) => event["step"])).toEqual(["team-brief"]);
    expect(lists.value[0]?.brief_ms).toBe(tablet.clock.wall_ms);
  });

  it("leaves no free text in what is signed, and shows it all the same", async () => {
    await openCase();
    await flows.fault(CASE, "during", "pump\0 stopped");
    tablet.clock.pass(1_000);
    await flows.complication(CASE, "other", "");
    await flows.sendNow();
    const [, fault, complication] = server.eventsOf(deviceOf());
    expect(JSON.stringify(server.eventsOf(deviceOf()))).not.toContain("pump");
    expect(server.texts.get(asText(needObject(fault?.["text"], "text")["sha256"]))).toBe("pump stopped");
    expect(complication).not.toHaveProperty("text");
    expect(cases.value.get(CASE)?.caseFile.events[0]).toMatchObject({ type: "fault", text: "pump stopped" });
  });

  it("says when a tap is said to have happened, and stores the clock as it was known", async () => {
    server.now_ms = tablet.clock.wall_ms + 90_000;
    await flows.sendNow();
    await openCase();
    const { event } = await flows.recordStep(CASE, "machine-ready", {}, { ago_ms: 120_000 });
    const clock = event["clock"] as JsonObject;
    expect(clock).toMatchObject({ ago_ms: 120_000, offset_ms: 90_000, offset_error_ms: 0, boot: "boot" });
    const [record] = cases.value.get(CASE)?.caseFile.events ?? [];
    expect(record).toMatchObject({ entered_ms: server.now_ms, at_ms: server.now_ms - 120_000 });
    await expect(flows.recordStep(CASE, "machine-ready", {}, { ago_ms: -1 })).rejects.toThrow("has passed");
  });

  it("moves a case to another slot, whose own plan stays in force", async () => {
    await openCase();
    await flows.recordStep(CASE, "machine-ready", {});
    const plan = { ...SLOT, eye: "left" as const };
    const to = await flows.openOffList({ date: "2026-11-25", reference: "KD4822", plan, practice: false });
    await flows.moveCase(CASE, to);
    expect(cases.value.get(CASE)?.meta.moved_to).toBe(to);
    expect(cases.value.get(to)?.caseFile).toMatchObject({
      plan: { eye: "left" },
      events: [{ step: "machine-ready" }],
    });
  });
});

describe("a signature", () => {
  beforeEach(async () => {
    await openCase();
    await flows.makePinKey("S07", PIN);
  });

  it("is given with the network off and proves the statement under the certified key", async () => {
    server.weather = "down";
    await flows.answer(CASE, "marked-eye/omitted", "G3", { happened: true, done: "looked again" });
    const { event } = await flows.sign(CASE, "s07", PIN);
    const { statement, proof } = event as unknown as { statement: JsonObject; proof: JsonObject };
    const certified = needObject(
      parse(payloadText(asText(proof["certificate"]), "hubheld-pin-key")),
      "certificate",
    );
    const signature = fromBase64url(asText(proof["signature"]));
    expect(await webCrypto.verify(jwkOf(certified["jwk"]), signature, canonical(statement))).toBe(true);
    expect(statement).toMatchObject({
      v: 1,
      type: "sign-off",
      unit: "demo",
      case: CASE,
      unit_values_number: 3,
    });
    expect(statement["entries"]).toHaveLength(2);
    expect(JSON.stringify(statement)).not.toContain("looked again");
    const rows = statement["deviations"] as readonly JsonObject[];
    expect(rows.find(({ key }) => key === "marked-eye/omitted")?.["answer"]).toMatchObject({
      grade: "G3",
      happened: true,
    });
    expect(rows.some(({ step }) => step === "surgeon-sign-off")).toBe(false);
    expect(cases.value.get(CASE)).toMatchObject({
      signedBeforeLater: false,
      meta: { sign_off: { id: event.id } },
    });
  });

  it("stands before a later entry, and a later answer changes nothing about it", async () => {
    await flows.sign(CASE, "S07", PIN);
    await flows.answer(CASE, "time-out/omitted", "G3", { happened: true });
    expect(cases.value.get(CASE)?.signedBeforeLater).toBe(false);
    await flows.recordStep(CASE, "machine-ready", {});
    expect(cases.value.get(CASE)?.signedBeforeLater).toBe(true);
    tablet.clock.pass(1_000);
    await flows.sign(CASE, "S07", PIN);
    expect(cases.value.get(CASE)?.signedBeforeLater).toBe(false);
  });

  it("is refused for another PIN and for a surgeon without a key here", async () => {
    await expect(flows.sign(CASE, "S07", "402918")).rejects.toThrow("PIN does not fit");
    await expect(flows.sign(CASE, "S08", PIN)).rejects.toThrow("no signing key");
    expect(cases.value.get(CASE)?.meta.sign_off).toBeNull();
  });

  it("needs a key that the server certified for this tablet, and survives a new start", async () => {
    await expect(flows.makePinKey("S07", "12345")).rejects.toThrow("six digits");
    await expect(flows.makePinKey("S07", "999999")).rejects.toThrow("does not fit");
    await load();
    expect(pinKeys.value).toEqual(["S07"]);
    await flows.sign(CASE, "S07", PIN);
    expect(cases.value.get(CASE)?.meta.sign_off).not.toBeNull();
  });
});

describe("a store that was lost", () => {
  it("while the page is open is said at the next tap, and again after a reload", async () => {
    await openCase();
    const held = keeping.value.stored;
    disk.local.clear();
    const empty = {
      head: () => Promise.resolve(null),
      add: () => Promise.resolve(false),
      read: () => Promise.resolve([]),
    };
    Object.assign(tablet.entries, empty);
    await expect(flows.recordStep(CASE, "machine-ready", {})).rejects.toThrow("is not stored");
    disk = { ...disk, name: `${disk.name}-cleared` };
    await load();
    expect(device.value).toMatchObject({ phase: "lost_store", lostStored: { held: 0, known: held } });
  });

  it("is said when entries are missing, and recording goes on", async () => {
    await openCase();
    await rest();
    disk.local.set("hubheld-stored", `9 ${deviceOf()}`);
    await load();
    expect(device.value).toMatchObject({ phase: "lost_store", lostStored: { held: 1, known: 9 } });
    await flows.recordStep(CASE, "machine-ready", {});
    expect(keeping.value.stored).toBe(2);
  });

  it("is said when everything is gone", async () => {
    await openCase();
    disk = { ...freshDisk(), local: disk.local };
    await load();
    expect(device.value).toMatchObject({
      phase: "lost_store",
      unit: null,
      lostStored: { held: 0, known: 1 },
    });
  });

  it("is carried over to a new key when the server holds another history: nothing is dropped, nothing comes twice", async () => {
    await openCase();
    await rest();
    const first = deviceOf();
    server.weather = "down";
    const mine = await flows.recordStep(CASE, "machine-ready", {});
    await rest();
    // Another copy of this profile was faster: the server holds an entry that this one has not.
    const held = server.logs.get(first) ?? [];
    server.logs.set(first, [...held, ...held]);
    server.weather = "fair";
    await expect(flows.sendNow()).rejects.toThrow("enrol this tablet afresh");
    expect(keeping.value.problem).toContain("enrol this tablet afresh");
    await flows.recordStep(CASE, "viscoelastic-fill", HELD);
    await flows.enrol(CODE, "Tablet 1");
    await flows.sendNow();
    expect(deviceOf()).not.toBe(first);
    const events = server.eventsOf(deviceOf());
    expect(events.map(({ type }) => type)).toEqual(["step", "step"]);
    expect(events[0]?.["id"]).toBe(mine.event.id);
    expect(cases.value.get(CASE)?.caseFile.events).toHaveLength(2);
    await load();
    await flows.sendNow();
    expect(server.eventsOf(deviceOf())).toHaveLength(2);
  });
});

describe("a new version of the app", () => {
  it("waits while a case is open, and takes over once the patient has left", async () => {
    let activated = 0;
    const worker = {
      follow: (waiting: () => void) => Promise.resolve(waiting()),
      activate: () => Promise.resolve(void (activated += 1)),
    };
    tablet = { ...testTablet(disk, server), worker };
    await flows.start(tablet);
    expect(update.value.waiting).toBe(true);
    await openCase();
    await expect(flows.applyUpdate()).rejects.toThrow("A case is open");
    await flows.room(CASE, "patient_out");
    await flows.applyUpdate();
    expect(activated).toBe(1);
  });
});

describe("two windows of one tablet", () => {
  it("show each other's entries and write one log", async () => {
    await openCase();
    const { name, local } = disk;
    const other = testTablet({ name, local }, server);
    const enrolment = await other.keys.enrolment();
    if (enrolment === null) throw new Error("not enrolled");
    const log = new Log(
      webCrypto,
      signerOf(enrolment.keys.privateKey),
      enrolment,
      other.entries,
      () => undefined,
    );
    await log.append(eventAt("other-window", tablet.clock.wall_ms, { case: CASE }), []);
    tablet.page.changed();
    await rest();
    expect(cases.value.get(CASE)?.caseFile.events).toHaveLength(1);
    await log.append(eventAt("unheard", tablet.clock.wall_ms, { case: CASE }), []);
    await flows.recordStep(CASE, "machine-ready", {});
    expect(cases.value.get(CASE)?.caseFile.events).toHaveLength(3);
    await flows.sendNow();
    expect(server.eventsOf(deviceOf())).toHaveLength(4);
  });
});

describe("a tablet that starts with a damaged answer of the server", () => {
  it("records all the same", async () => {
    await tablet.work.saveWork({ lists: "nonsense" });
    await load();
    expect(device.value.phase).toBe("ready");
    await openCase();
    expect(cases.value.has(CASE)).toBe(true);
  });
});
