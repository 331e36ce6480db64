/** How long ago a step happened that is entered afterwards; the time of entry is kept beside it. */
import { liveText } from "../text/en.ts";
import { ChoiceRow } from "./Choice.tsx";

const MINUTES = [1, 3, 5, 10] as const;
const MINUTE_MS = 60_000;

export function WhenRow({
  ago_ms,
  onChoose,
}: {
  readonly ago_ms: number;
  readonly onChoose: (ago_ms: number) => void;
}) {
  const choices = [
    { value: 0, label: liveText.when.now },
    ...MINUTES.map((minutes) => ({ value: minutes * MINUTE_MS, label: liveText.when.minutes(minutes) })),
  ];
  return (
    <div class="when">
      <ChoiceRow
        question={liveText.when.title}
        hint={liveText.when.entryKept}
        choices={choices}
        chosen={[ago_ms]}
        onChoose={onChoose}
        look="quiet"
      />
    </div>
  );
}
