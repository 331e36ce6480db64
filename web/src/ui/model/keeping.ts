/** Which of the four pictures says where the record is. */
import type { DeviceState, Keeping } from "../../state/index.ts";
import type { KeepingState } from "../parts/KeepingPicture.tsx";

/** Null while the tablet is not enrolled: nothing can be stored yet. */
export function keepingStateOf(
  device: DeviceState,
  { stored, received, contact }: Keeping,
): KeepingState | null {
  if (device.phase === "lost_store") return "lost";
  if (device.phase !== "ready") return null;
  if (contact === "cut") return "cut";
  return received >= stored && contact === "reached" ? "both" : "here";
}
