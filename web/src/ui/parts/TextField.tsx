/** One line (or more lines) of typed words with its label above it and, when refused, the reason under it. */
import { useId } from "preact/hooks";

export interface TextFieldProps {
  readonly label: string;
  readonly value: string;
  readonly onInput: (value: string) => void;
  readonly onEnter?: (() => void) | undefined;
  readonly hint?: string | undefined;
  readonly refused?: string | undefined;
  readonly kind?: "text" | "password" | "decimal" | "long";
  readonly autoCapitalize?: "characters" | "none" | "sentences";
  readonly required?: boolean;
}

export function TextField(props: TextFieldProps) {
  const id = useId();
  const { label, value, onInput, hint, refused, kind = "text" } = props;
  const notes = [hint === undefined ? "" : `${id}-hint`, refused === undefined ? "" : `${id}-refused`]
    .join(" ")
    .trim();
  const shared = {
    id,
    value,
    required: props.required ?? false,
    autocomplete: "off",
    autocapitalize: props.autoCapitalize ?? "none",
    spellcheck: false,
    "aria-invalid": refused !== undefined,
    ...(notes === "" ? {} : { "aria-describedby": notes }),
    onInput: (event: { currentTarget: { value: string } }) => onInput(event.currentTarget.value),
  };
  return (
    <div class={`field ${refused === undefined ? "" : "refused"}`}>
      <label for={id}>{label}</label>
      {hint === undefined ? null : <small id={`${id}-hint`}>{hint}</small>}
      {kind === "long" ? (
        <textarea rows={2} {...shared} />
      ) : (
        <OneLine {...shared} kind={kind} onEnter={props.onEnter} />
      )}
      {refused === undefined ? null : (
        <p id={`${id}-refused`} class="refusal" role="alert">
          {refused}
        </p>
      )}
    </div>
  );
}

interface OneLineProps {
  readonly kind: NonNullable<TextFieldProps["kind"]>;
  readonly onEnter: (() => void) | undefined;
}

function OneLine({ kind, onEnter, ...shared }: OneLineProps) {
  const onKeyDown = (event: KeyboardEvent) => {
    if (event.key === "Enter") onEnter?.();
  };
  if (kind === "password") return <input {...shared} type="password" onKeyDown={onKeyDown} />;
  return (
    <input
      {...shared}
      type="text"
      inputMode={kind === "decimal" ? "decimal" : "text"}
      onKeyDown={onKeyDown}
    />
  );
}
