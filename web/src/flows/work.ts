/** Pulls what a tablet works with from the server, keeps it for when there is no network, and shows it. */
import { REQUEST } from "../core/entry.ts";
import { isObject, type Json, type JsonObject } from "../core/json.ts";
import { signJws } from "../core/jws.ts";
import { needObject, needText, needWhole } from "../core/values.ts";
import { signerOf } from "../device/crypto.ts";
import {
  device,
  heardTimeZone,
  lists,
  loadedSettings,
  people,
  unitValues,
  type ListSlot,
  type Person,
  type TheatreList,
  type UnitSettings,
} from "../state/index.ts";
import type { Session } from "./session.ts";
import { withRecords } from "./views.ts";

/** Asks the server and keeps its answer. Raises Unreachable, Refusal, or InvalidInput for an answer of another form. */
export async function pullWork(session: Session): Promise<void> {
  const { tablet, enrolment } = session;
  const said = { v: 1, purpose: "pull", wall_ms: tablet.clock.read().wall_ms };
  const request = await signJws(signerOf(enrolment.keys.privateKey), REQUEST, said);
  const work = await tablet.server.post("/pull", { certificate: enrolment.certificate, request });
  showWork(session, work);
  await tablet.work.saveWork(work);
}

/** Shows the work that was pulled last. Raises InvalidInput where its form is another. */
export function showWork(session: Session, work: JsonObject): void {
  const values = needObject(work["unit_values"], "unit_values");
  const settings = needObject(work["settings"], "settings")["settings"];
  unitValues.value = {
    number: needWhole(values["number"], "unit_values.number"),
    values: needObject(values["values"], "unit_values.values"),
  };
  loadedSettings.value = settingsOver(loadedSettings.value, settings);
  heardTimeZone.value = needText(work["time_zone"], "time_zone");
  people.value = rowsOf(work["people"]) as unknown as readonly Person[];
  lists.value = rowsOf(work["lists"]).map((list) => withRecords(session.book, listOf(list)));
  device.value = { ...device.value, unitName: needText(work["unit_name"], "unit_name") };
}

/** What the unit says stands in place of what came with the app; what it does not say stays. */
function settingsOver(base: UnitSettings | null, settings: Json | undefined): UnitSettings | null {
  return isObject(settings) && base !== null
    ? { ...base, ...(settings as unknown as Partial<UnitSettings>) }
    : base;
}

function listOf(list: JsonObject): TheatreList {
  return {
    list: needText(list["list"], "list"),
    date: needText(list["date"], "list.date"),
    theatre: needText(list["theatre"], "list.theatre"),
    rows: rowsOf(list["rows"]) as unknown as readonly ListSlot[],
    brief_ms: null,
    debrief_ms: null,
  };
}

function rowsOf(value: Json | undefined): readonly JsonObject[] {
  return Array.isArray(value) ? value.map((row: Json) => needObject(row, "a row")) : [];
}
