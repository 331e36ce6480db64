/** The ring of a grade: nicked (1), open a third (2), slipped in halves (3), slipped on a solid plate (4). */
import type { Grade } from "../../core/protocol.ts";

const TEXT = { "text-anchor": "middle", "font-size": "24", "font-weight": "800" } as const;

export function GradeRing({ grade }: { readonly grade: Grade }) {
  return (
    <svg class="grade" viewBox="0 0 56 48" aria-hidden="true">
      {ringOf(grade)}
    </svg>
  );
}

function ringOf(grade: Grade) {
  const open = { cx: 28, cy: 24, r: 19, fill: "none", stroke: "currentColor", "stroke-width": 5 };
  switch (grade) {
    case "G1":
      return (
        <>
          <circle {...open} stroke-dasharray="107.4 12" transform="rotate(-37 28 24)" />
          <text x="28" y="32.5" {...TEXT}>
            1
          </text>
        </>
      );
    case "G2":
      return (
        <>
          <circle {...open} stroke-dasharray="83.4 36" transform="rotate(9 28 24)" />
          <text x="27" y="32.5" {...TEXT}>
            2
          </text>
        </>
      );
    case "G3":
      return (
        <>
          <path
            d="M4 22a19 19 0 0 1 38 0M14 27a19 19 0 0 0 38 0"
            fill="none"
            stroke="currentColor"
            stroke-width="6"
          />
          <text x="28" y="33" {...TEXT}>
            3
          </text>
        </>
      );
    case "G4":
      return (
        <>
          <rect width="56" height="48" rx="3" fill="currentColor" />
          <g class="on-plate-ink">
            <path
              d="M6 21a17 17 0 0 1 34 0M16 28a17 17 0 0 0 34 0"
              fill="none"
              stroke="currentColor"
              stroke-width="5"
            />
            <text x="28" y="33" {...TEXT}>
              4
            </text>
          </g>
        </>
      );
  }
}
