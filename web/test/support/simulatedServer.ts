/** A server in memory for tests of the flows: it verifies and signs as the real one does, and can be made to fail. */
import type { Jwk, Sign } from "../../src/core/crypto.ts";
import {
  CERTIFICATE,
  PIN_KEY,
  RECEIPT,
  REQUEST,
  jwkOf,
  seal,
  verifyCertificate,
  verifyEntry,
  type Entry,
} from "../../src/core/entry.ts";
import { asText, type Json, type JsonObject } from "../../src/core/json.ts";
import { digestOf, signJws, thumbprint, verifyJws } from "../../src/core/jws.ts";
import { parse } from "../../src/core/strictJson.ts";
import { needObject, needText, needWhole } from "../../src/core/values.ts";
import { makeDeviceKeys, publicJwk, randomBytes, signerOf, webCrypto } from "../../src/device/crypto.ts";
import { Refusal, Unreachable, type Server } from "../../src/device/upload.ts";

export const UNIT = "demo";
export const CODE = "AAAA-BBBB";
export const SLOT = {
  order: 1,
  reference: "KD4821",
  eye: "right",
  anaesthesia: "topical",
  red_reflex: "good",
  lens: { model: "AURA-1", power_cdpt: 2150, optic_um: 6000, dry_state_hydrophilic: false },
  drug: "cefuroxime",
} as const;
export const LIST = {
  list: "demo_2026-11-25_theatre-1",
  date: "2026-11-25",
  theatre: "theatre-1",
  rows: [SLOT],
};

/** `down`: nothing arrives. `lossy`: it is taken in, and the answer is lost. `portal`: something else says 200. */
export type Weather = "fair" | "down" | "lossy" | "portal";

export class SimulatedServer implements Server {
  weather: Weather = "fair";
  now_ms = 1_764_000_000_000;
  /** Entries held, by device. */
  readonly logs = new Map<string, Entry[]>();
  /** Texts that came beside entries, by digest. */
  readonly texts = new Map<string, string>();

  private constructor(
    private readonly sign: Sign,
    readonly jwk: Jwk,
  ) {}

  static async make(): Promise<SimulatedServer> {
    const keys = await makeDeviceKeys();
    return new SimulatedServer(signerOf(keys.privateKey), await publicJwk(keys.publicKey));
  }

  async post(path: string, body: JsonObject): Promise<JsonObject> {
    if (this.weather === "down") throw new Unreachable("The server did not answer.");
    if (this.weather === "portal") return { receipt: "welcome", status: "ok" };
    const answer = await this.answer(path, structuredClone(body));
    if (this.weather === "lossy") throw new Unreachable("The server did not answer.");
    return answer;
  }

  eventsOf(device: string): readonly JsonObject[] {
    return (this.logs.get(device) ?? []).map(({ event }) => event);
  }

  private answer(path: string, body: JsonObject): Promise<JsonObject> {
    switch (path) {
      case "/enrolments":
        return this.enrol(body);
      case "/logs/status":
        return this.receipt(body);
      case "/logs/entries":
        return this.takeIn(body);
      case "/pull":
        return this.pull(body);
      case "/pin-keys":
        return this.certifyPinKey(body);
      default:
        throw new Refusal("no such address", 404, "about:blank");
    }
  }

  private async enrol(body: JsonObject): Promise<JsonObject> {
    const jwk = jwkOf(body["jwk"]);
    const device = await thumbprint(webCrypto, jwk);
    const said = parse(await verifyJws(webCrypto, needText(body["proof"], "proof"), REQUEST, jwk));
    if (body["code"] !== CODE || needObject(said, "proof")["device"] !== device) {
      throw new Refusal("this code is not in force; ask the office for a new one", 403, "not-allowed");
    }
    const payload = { v: 1, unit: UNIT, device, jwk, name: body["name"], at_ms: this.now_ms };
    const certificate = await signJws(this.sign, CERTIFICATE, payload);
    return { certificate, server_jwk: this.jwk as unknown as JsonObject, unit: UNIT };
  }

  private async receipt(body: JsonObject): Promise<JsonObject> {
    const known = await verifyCertificate(webCrypto, needText(body["certificate"], "certificate"), this.jwk);
    const log = this.logs.get(known.device) ?? [];
    const head = log.at(-1)?.digest ?? (await digestOf(webCrypto, known.certificate));
    const { device } = known;
    const payload = { v: 1, unit: UNIT, device, n: log.length, head, epoch: 1, at_ms: this.now_ms };
    return { receipt: await signJws(this.sign, RECEIPT, payload) };
  }

  private async takeIn(body: JsonObject): Promise<JsonObject> {
    const known = await verifyCertificate(webCrypto, needText(body["certificate"], "certificate"), this.jwk);
    const log = [...(this.logs.get(known.device) ?? [])];
    const from = needWhole(body["from"], "from");
    if (from > log.length) throw new Refusal("entries are missing", 409, "log-gap");
    for (const [offset, item] of (body["entries"] as readonly Json[]).entries()) {
      const { jws, texts } = needObject(item, "entry");
      const held = log[from + offset];
      if (held !== undefined && held.jws !== jws) throw new Refusal("two histories", 409, "log-fork");
      if (held !== undefined) continue;
      const prev = log.at(-1)?.digest ?? (await digestOf(webCrypto, known.certificate));
      log.push(
        await verifyEntry(webCrypto, needText(jws, "jws"), known.jwk, known, { seq: log.length, prev }),
      );
      for (const text of texts as readonly JsonObject[])
        this.texts.set(asText(text["sha256"]), asText(text["text"]));
    }
    this.logs.set(known.device, log);
    return this.receipt(body);
  }

  private async pull(body: JsonObject): Promise<JsonObject> {
    const known = await verifyCertificate(webCrypto, needText(body["certificate"], "certificate"), this.jwk);
    await verifyJws(webCrypto, needText(body["request"], "request"), REQUEST, known.jwk);
    return {
      ...(await this.receipt(body)),
      unit_name: "Demo unit (invented)",
      time_zone: "Europe/London",
      unit_values: { number: 3, values: { late_s: 60 } },
      settings: { number: 2, settings: { lens_models: ["AURA-1"] } },
      people: [{ code: "S07", role: "surgeon" }],
      lists: [LIST],
    };
  }

  private async certifyPinKey(body: JsonObject): Promise<JsonObject> {
    const known = await verifyCertificate(webCrypto, needText(body["certificate"], "certificate"), this.jwk);
    const said = needObject(
      parse(await verifyJws(webCrypto, needText(body["request"], "request"), REQUEST, known.jwk)),
      "request",
    );
    if (said["pin"] !== "402917") throw new Refusal("the code or the PIN does not fit", 403, "not-allowed");
    const person = await seal(webCrypto, randomBytes(16), needText(said["person"], "person"));
    const { device } = known;
    const certified = {
      v: 1,
      unit: UNIT,
      device,
      person: { sha256: person.sha256 },
      jwk: body["jwk"],
      at_ms: this.now_ms,
    };
    return {
      certificate: await signJws(this.sign, PIN_KEY, certified),
      person: person as unknown as JsonObject,
    };
  }
}
