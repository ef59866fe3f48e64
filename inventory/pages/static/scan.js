// Reads labels and bags with the phone's camera where the browser offers a barcode detector (secure pages only).
// The page works without this file: the field takes what a hand scanner or a thumb types.

const button = document.getElementById("camera");
const box = document.getElementById("viewfinder");
const video = document.getElementById("view");
const says = document.getElementById("camera-says");
const wanted = ["qr_code", "data_matrix", "code_128", "code_39", "ean_13", "upc_a", "pdf417", "aztec"];
let stream = null;

const readable = async () => {
  if (!window.isSecureContext || !("BarcodeDetector" in window) || !navigator.mediaDevices) return [];
  return (await window.BarcodeDetector.getSupportedFormats()).filter((name) => wanted.includes(name));
};

const stop = () => {
  if (stream) stream.getTracks().forEach((track) => track.stop());
  stream = null;
  box.hidden = true;
  button.textContent = "Use the camera";
};

// One code goes where the scan field would take it; of several in the picture one is picked.
const open = (texts) => {
  stop();
  if (texts.length > 1) {
    const codes = new URLSearchParams(texts.map((text) => ["code", text]));
    window.location.assign(`${document.getElementById("ways").dataset.pick}?${codes}`);
    return;
  }
  const [text] = texts;
  const field = document.getElementById("code");
  field.value = text;
  field.form.requestSubmit();
};

const watch = async (detector) => {
  while (stream) {
    const found = await detector.detect(video).catch(() => []);
    const texts = [...new Set(found.map((one) => one.rawValue))].filter(Boolean);
    if (stream && texts.length) return open(texts);
    await new Promise((resolve) => setTimeout(resolve, 120));
  }
};

const start = async () => {
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
  } catch {
    says.textContent = "The camera cannot be used: allow it for this page, or type the code.";
    box.hidden = false;
    video.hidden = true;
    return;
  }
  video.hidden = false;
  box.hidden = false;
  button.textContent = "Stop the camera";
  video.srcObject = stream;
  await video.play();
  box.scrollIntoView({ block: "center" });
  watch(new window.BarcodeDetector({ formats: await readable() }));
};

if ((await readable().catch(() => [])).includes("qr_code")) {
  button.hidden = false;
  button.addEventListener("click", () => (stream ? stop() : start()));
  window.addEventListener("pagehide", stop);
}
