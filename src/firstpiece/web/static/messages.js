// @ts-check
/** A page with messages to copy and nothing else that moves. */

import { wakeCopy } from "./sheet.js";

wakeCopy();
