/** The sentences of scanning, of a bin's code and of keeping the app. Part of the catalogue en.ts. */
export const scan = {
  title: 'Scan',
  lead: "Hold a bin's label in front of the camera.",
  starting: 'Opening the camera…',
  looking: 'Looking for a code…',
  picture: 'What the camera sees',
  found: (bin: string) => `Found ${bin}.`,
  unknownBin: 'That is a bin of Underlog, but none of this room.',
  other: (text: string) => `That code says ${text}, which is no bin of this room.`,
  why: {
    insecure:
      'The camera works only at a secure address (https, or this computer itself). Type the place instead.',
    refused:
      "The camera was refused. The browser's settings for this site can allow it again. Or type the place.",
    none: 'No camera was found here. Type the place instead.',
    busy: 'Another program is using the camera. Close it and try again, or type the place.',
  },
  again: 'Try the camera again',
  lampOn: 'Light on',
  lampOff: 'Light off',
  place: 'Or type the place',
  placeHint: 'As on the label, for example W2-3.',
  go: 'Go to the stop',
  noPlace: (typed: string) => `No bin stands at ${typed}.`,
}

/** The first evening: three bins, one reading. */
export const steps = {
  title: 'The first evening',
  bins: (n: number) => `Put three bins on the rack: ${n} of 3`,
  another: 'Add the next',
  feel: (place: string) => `Put a finger into the damp side of ${place} and say how it feels`,
  open: 'Open its stop',
  felt: 'The forecast has begun. From here on the Round says which bins want you.',
  done: 'done',
  away: 'Put this away',
}

/** Offered once, after a round. */
export const install = {
  title: 'Keep it at hand',
  ios: 'Tap Share, then Add to Home Screen, and open it from there: it starts without signal, its records are not cleared, and only so can it send alerts on this phone.',
  android: "In the browser's menu choose Install app. It then starts without signal, like any other app.",
  desk: 'Your browser can install it: it gets a window of its own and starts without signal.',
  go: 'Install',
  read: 'Understood',
}

export const label = {
  title: 'Its code',
  help: 'Scan it, here or with any camera, to land on its stop. It works without signal once this room is on the phone, and says nothing to a stranger.',
  picture: (bin: string) => `Code that opens the stop of ${bin}`,
}
