/** The acts in hand, by name: plain data, nothing secret. */

import { read, write } from "./database.js";

export const get = (act) => read("drafts", (store) => store.get(act));
export const getAll = () => read("drafts", (store) => store.getAll());
export const put = (act, draft) => write("drafts", (store) => store.put(draft, act), "relaxed");
export const clear = (act) => write("drafts", (store) => store.delete(act));
export const clearAll = () => write("drafts", (store) => store.clear());
