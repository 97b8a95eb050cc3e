// A surface in space that can be turned, moved closer and looked at from all sides. Drawn only when something changes.
import {
  AmbientLight, BufferAttribute, BufferGeometry, Color, DirectionalLight, DoubleSide, Group, LineBasicMaterial, LineLoop, Mesh, MeshLambertMaterial,
  PerspectiveCamera, Scene, Spherical, SRGBColorSpace, Vector3, WebGLRenderer,
} from "./vendor/three.module.min.js";

export function scene(canvas, note) {
  const gl = canvas.getContext("webgl2", { antialias: true, alpha: true });
  if (!gl) {
    note.textContent = "This browser cannot draw in space (no WebGL 2). The section beside and the figures below work without it.";
    return null;
  }
  const renderer = new WebGLRenderer({ canvas, context: gl, antialias: true, alpha: true });
  renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
  const world = new Scene(), body = new Group(), camera = new PerspectiveCamera(32, 1, 0.001, 20);
  const lamp = new DirectionalLight(0xffffff, 2.2);
  world.add(body, new AmbientLight(0xffffff, 1.5), camera);
  camera.add(lamp);
  lamp.position.set(0.4, 0.8, 1);
  const target = new Vector3(), look = new Spherical(1, 1.15, 0.75);
  let size = 0.2, geometry = null, along = null, ringLine = null, waiting = false;

  function draw() {
    waiting = false;
    const w = canvas.clientWidth, h = canvas.clientHeight;
    if (w === 0 || h === 0 || !geometry) return; // an empty picture would only hold the full one up
    const at = Math.min(devicePixelRatio, 2);
    if (canvas.width !== Math.round(w * at) || canvas.height !== Math.round(h * at)) renderer.setSize(w, h, false);
    camera.aspect = w / h;
    camera.updateProjectionMatrix();
    camera.position.setFromSpherical(look).add(target);
    camera.lookAt(target);
    renderer.render(world, camera);
  }
  function later() {
    if (!waiting) {
      waiting = true;
      requestAnimationFrame(draw);
    }
  }
  new ResizeObserver(later).observe(canvas);
  turning(canvas, look, target, camera, () => size, later);

  return {
    async load(address) {
      const answer = await fetch(address);
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      const raw = await answer.arrayBuffer();
      const [corners, triangles] = new Uint32Array(raw, 0, 2);
      geometry = new BufferGeometry();
      geometry.setAttribute("position", new BufferAttribute(new Float32Array(raw, 8, 3 * corners), 3));
      along = new Float32Array(raw, 8 + 12 * corners, corners);
      geometry.setIndex(new BufferAttribute(new Uint32Array(raw, 8 + 16 * corners, 3 * triangles), 1));
      geometry.setAttribute("color", new BufferAttribute(new Float32Array(3 * corners), 3));
      geometry.computeVertexNormals();
      geometry.computeBoundingSphere();
      size = geometry.boundingSphere.radius;
      target.copy(geometry.boundingSphere.center);
      look.radius = size * 3.3;
      camera.near = size / 50;
      camera.far = size * 60;
      body.add(new Mesh(geometry, new MeshLambertMaterial({ vertexColors: true, side: DoubleSide })));
      later();
    },
    // colour paints every corner by its place along the centreline [m].
    colour(of) {
      if (!geometry) return;
      const c = geometry.getAttribute("color"), one = new Color();
      const table = [];
      let lo = Infinity, hi = -Infinity;
      for (const s of along) { lo = Math.min(lo, s); hi = Math.max(hi, s); }
      for (let i = 0; i <= 400; i++) table.push(of(lo + (hi - lo) * i / 400));
      for (let i = 0; i < along.length; i++) {
        const [r, g, b] = table[Math.round(400 * (along[i] - lo) / Math.max(hi - lo, 1e-9))];
        one.setRGB(r, g, b, SRGBColorSpace);
        c.setXYZ(i, one.r, one.g, one.b);
      }
      c.needsUpdate = true;
      later();
    },
    // ring draws a section where it lies: its place, the two directions of its outline, and the outline [mm].
    ring([p, e, f], outline) {
      const v = new Float32Array(3 * outline.length);
      outline.forEach(([x, y], i) => {
        for (let k = 0; k < 3; k++) v[3 * i + k] = p[k] + 0.00102 * (x * e[k] + y * f[k]); // a hair outside the surface
      });
      const g = new BufferGeometry();
      g.setAttribute("position", new BufferAttribute(v, 3));
      if (ringLine) {
        body.remove(ringLine);
        ringLine.geometry.dispose();
      }
      ringLine = new LineLoop(g, new LineBasicMaterial({ color: 0xd4581c, depthTest: false, transparent: true }));
      ringLine.renderOrder = 2;
      body.add(ringLine);
      later();
    },
  };
}

// turning moves the eye by pointer, wheel and keys.
function turning(canvas, look, target, camera, size, later) {
  const down = new Map();
  let apart = 0;
  const turn = (dx, dy) => {
    look.theta -= dx;
    look.phi = Math.min(Math.max(look.phi - dy, 0.05), Math.PI - 0.05);
    later();
  };
  const closer = (by) => {
    look.radius = Math.min(Math.max(look.radius * by, size() * 0.6), size() * 20);
    later();
  };
  const move = (dx, dy) => {
    const k = 2 * look.radius * Math.tan(camera.fov * Math.PI / 360) / canvas.clientHeight;
    target.addScaledVector(new Vector3().setFromMatrixColumn(camera.matrix, 0), -dx * k);
    target.addScaledVector(new Vector3().setFromMatrixColumn(camera.matrix, 1), dy * k);
    later();
  };
  const spread = () => {
    const [a, b] = [...down.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  canvas.addEventListener("pointerdown", (e) => {
    canvas.setPointerCapture(e.pointerId);
    down.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (down.size === 2) apart = spread();
  });
  canvas.addEventListener("pointermove", (e) => {
    const was = down.get(e.pointerId);
    if (!was) return;
    const dx = e.clientX - was.x, dy = e.clientY - was.y;
    down.set(e.pointerId, { x: e.clientX, y: e.clientY });
    if (down.size === 2) {
      const now = spread();
      closer(apart / Math.max(now, 1));
      apart = now;
      move(dx / 2, dy / 2);
    } else if (e.shiftKey || e.buttons & 2) move(dx, dy);
    else turn(dx * 0.008, dy * 0.008);
  });
  const up = (e) => down.delete(e.pointerId);
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  canvas.addEventListener("contextmenu", (e) => e.preventDefault());
  canvas.addEventListener("wheel", (e) => {
    if (!e.ctrlKey && document.activeElement !== canvas) return; // the page scrolls until the picture is chosen
    e.preventDefault();
    closer(Math.exp(e.deltaY * 0.0012));
  }, { passive: false });
  canvas.addEventListener("keydown", (e) => {
    const keys = { ArrowLeft: [-0.12, 0], ArrowRight: [0.12, 0], ArrowUp: [0, -0.12], ArrowDown: [0, 0.12] };
    if (keys[e.key]) turn(...keys[e.key]);
    else if (e.key === "+" || e.key === "=") closer(0.88);
    else if (e.key === "-") closer(1.14);
    else return;
    e.preventDefault();
    e.stopPropagation();
  });
}
