/** Composition root of the client: theme and protocol first, then the page, then the record is opened and followed. */
import { render } from "preact";

import protocolFile from "../../shared/protocol/phaco-cataract.json";
import settingsFile from "../../shared/unit/settings.json";
import { load } from "./core/protocol.ts";
import { start } from "./flows/index.ts";
import { loadedProtocol, loadedSettings } from "./state/index.ts";
import { App } from "./ui/App.tsx";
import { readRecorder } from "./ui/recorder.ts";
import { announceChanges } from "./ui/announce.ts";
import { contactWords } from "./ui/parts/KeepingMark.tsx";
import { followAddress } from "./ui/route.ts";
import { applyTheme } from "./ui/theme.ts";
import { followVisibility } from "./ui/wakeLock.ts";

applyTheme();
loadedProtocol.value = load(protocolFile);
loadedSettings.value = settingsFile;
followAddress();
followVisibility();
readRecorder();
announceChanges(contactWords);
const root = document.getElementById("app");
if (root !== null) render(<App />, root);
void start();
