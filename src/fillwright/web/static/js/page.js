// What the page does beyond plain forms: send without reloading, follow the bench, take keys.

import { keepFresh } from "./again.js";
import { useAsks } from "./asks.js";
import { stayAwake } from "./awake.js";
import { follow } from "./live.js";
import { useKeys } from "./pad.js";
import { startQueue } from "./queue.js";
import { watchTyping } from "./scale.js";
import { keepSeats } from "./seat.js";
import { useForms } from "./send.js";
import { useWipe } from "./wipe.js";

document.documentElement.dataset.js = "on";
useWipe();
keepSeats();
useForms();
useAsks();
useKeys();
watchTyping();
startQueue();
follow();
stayAwake();
keepFresh();
