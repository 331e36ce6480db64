/** All steps of the case as stitches in their phases: full recorded, hollow blank, barred not done, line ahead. */
import type { Course, CourseItem } from "../model/course.ts";
import { liveText } from "../text/en.ts";

const WIDTH = 762;
const PHASE_GAP = 18;
const STITCH_GAP = 6;

export function Strip({ course }: { readonly course: Course }) {
  const { items, at, blankBefore } = course;
  const words =
    at < items.length
      ? liveText.strip(at + 1, items.length, blankBefore)
      : liveText.stripEnd(items.length, items.filter(({ state }) => state === "blank").length);
  return (
    <div class="strip" role="img" aria-label={words}>
      <svg viewBox={`0 0 ${WIDTH} 44`} preserveAspectRatio="xMinYMid meet" aria-hidden="true">
        {placed(items).map(({ item, x, width }) => (
          <Stitch key={item.step.step} item={item} x={x} width={width} />
        ))}
      </svg>
    </div>
  );
}

function placed(items: readonly CourseItem[]) {
  const phases = items.filter(
    ({ step }, index) => index > 0 && items[index - 1]?.step.phase !== step.phase,
  ).length;
  const width = (WIDTH - 6 - phases * PHASE_GAP) / Math.max(1, items.length) - STITCH_GAP;
  let x = 3;
  return items.map((item, index) => {
    if (index > 0 && items[index - 1]?.step.phase !== item.step.phase) x += PHASE_GAP;
    const place = { item, x, width };
    x += width + STITCH_GAP;
    return place;
  });
}

function Stitch({
  item,
  x,
  width,
}: {
  readonly item: CourseItem;
  readonly x: number;
  readonly width: number;
}) {
  switch (item.state) {
    case "recorded":
      return <rect x={x} y="15" width={width} height="14" rx="3" fill="currentColor" />;
    case "blank":
      return (
        <rect
          x={x + 2}
          y="15"
          width={width - 4}
          height="14"
          rx="4"
          fill="none"
          stroke="currentColor"
          stroke-width="3"
        />
      );
    case "not_done":
      return (
        <g fill="none" stroke="currentColor" stroke-width="3">
          <rect x={x + 2} y="15" width={width - 4} height="14" rx="4" />
          <path d={`M${x - 1} 22h${width + 2}`} stroke-width="4" />
        </g>
      );
    case "asked":
      return <AskedStitch middle={x + width / 2} />;
    case "to_do":
      return <rect class="line-colour" x={x} y="20.5" width={width} height="3" fill="currentColor" />;
  }
}

function AskedStitch({ middle }: { readonly middle: number }) {
  return (
    <g class="live-colour">
      <circle cx={middle} cy="22" r="10" fill="none" stroke="currentColor" stroke-width="5" />
      <path d={`M${middle - 20} 17h7v10h-7zM${middle + 13} 17h7v10h-7z`} fill="currentColor" />
    </g>
  );
}
