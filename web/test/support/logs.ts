/** Logs for tests: a fresh device key with its certificate, and events with a clock. */
import type { JsonObject } from "../../src/core/json.ts";
import { thumbprint } from "../../src/core/jws.ts";
import type { Jwk, Sign } from "../../src/core/crypto.ts";
import type { LogEvent, LogOwner } from "../../src/core/entry.ts";
import { makeDeviceKeys, publicJwk, signerOf, webCrypto } from "../../src/device/crypto.ts";
import { Database } from "../../src/device/db.ts";
import type { Clock } from "../../src/device/clock.ts";

export interface TestDevice {
  readonly owner: LogOwner;
  readonly jwk: Jwk;
  readonly sign: Sign;
}

/** A device that no server certified: its certificate is only text, which is all that a chain needs. */
export async function testDevice(): Promise<TestDevice> {
  const keys = await makeDeviceKeys();
  const jwk = await publicJwk(keys.publicKey);
  const device = await thumbprint(webCrypto, jwk);
  return {
    owner: { unit: "demo", device, certificate: `certificate of ${device}` },
    jwk,
    sign: signerOf(keys.privateKey),
  };
}

export const stillClock: Clock = {
  read: () => ({ wall_ms: 1_764_000_000_000, mono_ms: 1_000, boot: "boot", utc_offset_min: 0 }),
  after: () => () => undefined,
};

let databases = 0;

/** A new, empty database; `name` opens one that is there. */
export function testDatabase(name = `test-${(databases += 1)}`): {
  readonly name: string;
  readonly database: Database;
} {
  return { name, database: new Database(name, stillClock, () => undefined) };
}

export function eventAt(id: string, wall_ms: number, more: JsonObject = {}): LogEvent {
  const clock = {
    wall_ms,
    mono_ms: 1,
    boot: "boot",
    utc_offset_min: 0,
    ago_ms: 0,
    offset_ms: 0,
    offset_error_ms: 1,
  };
  return {
    id,
    type: "step",
    case: "demo_2026-11-25_AB12_right",
    step: "machine-ready",
    clock,
    value: {},
    ...more,
  };
}
