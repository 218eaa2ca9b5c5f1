/// <reference types="vite/client" />

/** What is in the engine's files, as a hash: part of their address. */
declare const __ENGINE_VERSION__: string
