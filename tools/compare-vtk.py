#!/usr/bin/python3
"""Times 200 oblique sections of a mesh of 500 000 triangles in VTK's vtkPlaneCutter, with its search tree, and in package passage, in one
run on one machine. The mesh and the planes are those of BenchmarkCut in passage/mesh_bench_test.go.

Needs Debian's python3-vtk9 (apt-get install python3-vtk9) and go. Run it from the root of the repository: python3 tools/compare-vtk.py
"""
import math
import re
import subprocess
import sys
import time

import vtk

BIG, R, N, K, PLANES, ROUNDS = 0.055, 0.019, 500, 500, 200, 5


def bend():
    points, cells = vtk.vtkPoints(), vtk.vtkCellArray()
    points.SetDataTypeToDouble()
    for i in range(K + 1):
        s, c = math.sin(math.pi / 2 * i / K), math.cos(math.pi / 2 * i / K)
        for j in range(N):
            a = 2 * math.pi * j / N
            q = BIG + R * math.cos(a)
            points.InsertNextPoint(q * s, q * c, R * math.sin(a))

    def at(i, j):
        return i * N + j % N

    for i in range(K):
        for j in range(N):
            for t in ((at(i, j), at(i + 1, j + 1), at(i + 1, j)), (at(i, j), at(i, j + 1), at(i + 1, j + 1))):
                cells.InsertNextCell(3)
                for p in t:
                    cells.InsertCellPoint(p)
    mesh = vtk.vtkPolyData()
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    return mesh


def planes():
    for i in range(PLANES):
        a = 0.1 + 1.35 * i / (PLANES - 1)
        s, c = math.sin(a), math.cos(a)
        yield (BIG * s, BIG * c, 0.001), (c, -s, 0.12)


def as_grid(mesh):
    """The same triangles as an unstructured grid, for which vtkPlaneCutter has its tree."""
    f = vtk.vtkAppendFilter()
    f.AddInputData(mesh)
    f.Update()
    return f.GetOutput()


def cut_all(data, tree):
    cutter, plane = vtk.vtkPlaneCutter(), vtk.vtkPlane()
    cutter.SetInputData(data)
    cutter.SetPlane(plane)
    cutter.SetBuildTree(tree)
    cutter.SetComputeNormals(False)
    cutter.SetInterpolateAttributes(False)
    lines = 0
    start = time.perf_counter()
    for origin, normal in planes():
        plane.SetOrigin(*origin)
        plane.SetNormal(*normal)
        cutter.Update()
        out = cutter.GetOutputDataObject(0)
        if out.IsA("vtkCompositeDataSet"):
            it = out.NewIterator()
            it.InitTraversal()
            while not it.IsDoneWithTraversal():
                lines += it.GetCurrentDataObject().GetNumberOfCells()
                it.GoToNextItem()
        else:
            lines += out.GetNumberOfCells()
    return time.perf_counter() - start, lines


def ours():
    out = subprocess.run(["go", "test", "-run", "^$", "-bench", "^BenchmarkCut", "-benchtime", "5x", "./passage"], capture_output=True, text=True, check=True).stdout
    return {m[1]: float(m[2]) / 1e9 for m in re.finditer(r"^(BenchmarkCut\w*?)(?:-\d+)?\s+\d+\s+([\d.]+) ns/op", out, re.M)}


def main():
    mesh = bend()
    grid = as_grid(mesh)
    print(f"VTK {vtk.vtkVersion.GetVTKVersion()}, {mesh.GetNumberOfPolys()} triangles, {PLANES} planes")
    best = {}
    mine = {}
    for _ in range(ROUNDS):
        for name, data, tree in (("polygons, tree", mesh, True), ("grid, tree", grid, True), ("grid, no tree", grid, False)):
            t, lines = cut_all(data, tree)
            if lines < 100 * PLANES:
                sys.exit(f"vtkPlaneCutter on {name} gave {lines} cells: it did not cut")
            best[name] = min(t, best.get(name, t))
        for name, t in ours().items():
            mine[name] = min(t, mine.get(name, t))
    for name, t in best.items():
        print(f"  vtkPlaneCutter, {name:16} {1e3 * t:8.1f} ms")
    for name, t in mine.items():
        print(f"  {name:32} {1e3 * t:8.1f} ms")
    fastest = min(best.values())
    for name, t in mine.items():
        print(f"ratio, fastest of VTK over {name}: {fastest / t:.2f}")


main()
