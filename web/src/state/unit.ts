/** What the unit gave this tablet to work with: protocol, its own values, settings, lists and people. */
import { computed, signal } from "@preact/signals";

import type { Plan } from "../core/caseFile.ts";
import type { JsonObject } from "../core/json.ts";
import type { Protocol, Role } from "../core/protocol.ts";

/** The second numbered object of a unit: what is offered. It never enters the judge. */
export interface UnitSettings {
  readonly time_zone: string;
  readonly language: string;
  readonly tray: Readonly<Record<string, number>>;
  readonly lens_models: readonly string[];
  readonly antibiotics: readonly Antibiotic[];
  readonly offers: Readonly<Record<string, readonly JsonObject[]>>;
}

export interface Antibiotic {
  readonly drug: string;
  readonly strength_ug_ml: number;
  readonly volume_ul: number;
}

/** Number 0: the protocol's own values. */
export interface NumberedUnitValues {
  readonly number: number;
  readonly values: JsonObject;
}

/** One planned operation of a list: its plan, with its place and reference. */
export interface ListSlot extends Plan {
  readonly order: number;
  readonly reference: string;
}

export interface TheatreList {
  readonly list: string;
  readonly date: string;
  readonly theatre: string;
  readonly rows: readonly ListSlot[];
  /** When the team brief and the debrief of the list happened; null while they stand unrecorded here. */
  readonly brief_ms: number | null;
  readonly debrief_ms: number | null;
}

export interface Person {
  readonly code: string;
  readonly role: Role;
}

/** Put in place by the composition root before anything is shown. */
export const loadedProtocol = signal<Protocol | null>(null);
export const loadedSettings = signal<UnitSettings | null>(null);

export const protocol = computed(() => loadedOr(loadedProtocol.value, "protocol"));
export const settings = computed(() => loadedOr(loadedSettings.value, "settings"));
export const unitValues = signal<NumberedUnitValues>({ number: 0, values: {} });
export const lists = signal<readonly TheatreList[]>([]);
export const people = signal<readonly Person[]>([]);
/** Codes of the surgeons who have a signing key on this tablet. */
export const pinKeys = signal<readonly string[]>([]);
/** The unit's own time zone, once it was heard from the server. */
export const heardTimeZone = signal<string | null>(null);
export const timeZone = computed(() => heardTimeZone.value ?? settings.value.time_zone);

function loadedOr<T>(value: T | null, name: string): T {
  if (value === null) throw new Error(`the ${name} is read before the composition root put it in place`);
  return value;
}
