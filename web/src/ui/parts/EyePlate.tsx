/** The plate of the eye: a thick bar on the eye's own side, its letter, and always the word. */
import type { Eye } from "../../core/caseFile.ts";

export function EyePlate({ eye, short = false }: { readonly eye: Eye; readonly short?: boolean }) {
  return (
    <span class={`eye ${eye}`}>
      <b aria-hidden="true">{eye === "right" ? "R" : "L"}</b> {short ? eye : `${eye} eye`}
    </span>
  );
}
