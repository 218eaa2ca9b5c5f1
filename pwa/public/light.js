// Runs before the first paint. The key and the values are those of src/app/device.ts.
try {
  const light = localStorage.getItem('light')
  if (light === 'dusk' || light === 'red') document.documentElement.dataset.light = light
} catch {
  // Storage is closed (private window): day, until somebody chooses another.
}
