/** Times the tablet's own log against a bare strict IndexedDB write of the same bytes, in turn, in one page. */
import { uuid7 } from "../../../web/src/core/instant.ts";
import { thumbprint } from "../../../web/src/core/jws.ts";
import { browserClock } from "../../../web/src/device/clock.ts";
import { makeDeviceKeys, publicJwk, randomBytes, signerOf, webCrypto } from "../../../web/src/device/crypto.ts";
import { Database } from "../../../web/src/device/db.ts";
import { DbEntries } from "../../../web/src/device/dbLog.ts";
import { Log } from "../../../web/src/device/log.ts";

interface Times {
  readonly bare_ms: number[];
  readonly tap_ms: number[];
}

async function openLog(): Promise<Log> {
  const keys = await makeDeviceKeys();
  const device = await thumbprint(webCrypto, await publicJwk(keys.publicKey));
  const database = new Database("bench-log", browserClock("bench"), () => undefined);
  const owner = { unit: "bench", device, certificate: "bench" };
  return new Log(webCrypto, signerOf(keys.privateKey), owner, new DbEntries(database), () => undefined);
}

function openBare(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open("bench-bare", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("rows", { keyPath: ["device", "seq"] });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function writeBare(database: IDBDatabase, row: unknown): Promise<void> {
  return new Promise((resolve, reject) => {
    const tx = database.transaction("rows", "readwrite", { durability: "strict" });
    tx.oncomplete = () => resolve();
    tx.onabort = () => reject(tx.error);
    tx.objectStore("rows").add(row);
  });
}

function tappedEvent(number: number) {
  const clock = { wall_ms: number, mono_ms: number, boot: "bench", utc_offset_min: 0, ago_ms: 0, offset_ms: 0, offset_error_ms: 20 };
  const value = { lock_checked: true, hub_held: true, syringe_label: "balanced_salt" };
  const said = { said_by: "surgeon", entered_by: "circulating" };
  return { id: uuid7(number, randomBytes(10)), type: "step", case: "bench_2026-11-25_KD4821_right", step: "wound-hydration", ...said, value, clock };
}

/** `rounds` rounds of both, the one or the other first by chance. */
async function measure(rounds: number): Promise<Times> {
  const [log, bare, shown] = [await openLog(), await openBare(), document.querySelector("#shown")];
  if (shown === null) throw new Error("no page");
  const times: Times = { bare_ms: [], tap_ms: [] };
  let row = { device: "bench", seq: 0, digest: "", jws: "", texts: [] };
  const tap = async (number: number) => {
    const start_ms = performance.now();
    const entry = await log.append(tappedEvent(number), []);
    shown.textContent = `stored here ${number}`;
    times.tap_ms.push(performance.now() - start_ms);
    row = { device: "bench", seq: number, digest: entry.digest, jws: entry.jws, texts: [] };
  };
  const write = async (number: number) => {
    const same = { ...row, seq: number };
    const start_ms = performance.now();
    await writeBare(bare, same);
    times.bare_ms.push(performance.now() - start_ms);
  };
  await tap(0);
  times.tap_ms.length = 0;
  for (let number = 1; number <= rounds; number += 1) {
    const order = randomBytes(1)[0]! % 2 === 0 ? [tap, write] : [write, tap];
    for (const one of order) await one(number);
  }
  return times;
}

Object.assign(window, { measure });
