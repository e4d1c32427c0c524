/** After signing out: this device forgets what it knew, but for what was not sent yet. */

import { replace } from "../dom.js";
import * as outbox from "../phone/outbox.js";
import * as pocket from "../phone/pocket.js";
import { say } from "../words.js";

const said = document.getElementById("forgotten");
await pocket.forget();
const { waiting } = await outbox.count();
replace(said, waiting ? say("outbox.to-send", { count: waiting }) : say("access.forgotten"));
outbox.keepSending();
