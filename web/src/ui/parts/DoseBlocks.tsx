/** The dose as blocks of one planned dose: ten times is ten blocks. */
import type { Fraction } from "../../core/fraction.ts";
import { blocksOf } from "../model/stopView.ts";

const MOST = 10;
const BLOCK = 60;
const STEP = 67;

export function DoseBlocks({ mass, planned_ug }: { readonly mass: Fraction; readonly planned_ug: number }) {
  return (
    <svg class="blocks" viewBox="0 0 672 50" preserveAspectRatio="xMinYMid meet" aria-hidden="true">
      {blocksOf(mass, planned_ug, MOST).map((share, index) => (
        <rect key={index} class="block" x={2 + index * STEP} y="2" width={BLOCK * share} height="46" rx="3" />
      ))}
    </svg>
  );
}

export function PlannedBlock() {
  return (
    <svg class="blocks" viewBox="0 0 672 50" preserveAspectRatio="xMinYMid meet" aria-hidden="true">
      <rect x="4" y="4" width="56" height="42" rx="3" fill="none" stroke="currentColor" stroke-width="4" />
    </svg>
  );
}
