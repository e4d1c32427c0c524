/** Small things that the phone remembers, by name. */

import { read, write } from "./database.js";

export const get = (name) => read("settings", (store) => store.get(name));
export const put = (name, value) => write("settings", (store) => store.put(value, name));
export const clearAll = () => write("settings", (store) => store.clear());
